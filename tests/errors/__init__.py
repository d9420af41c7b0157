"""Every refusal, brought about by a command."""
