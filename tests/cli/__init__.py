"""The command line, as a person types it."""
