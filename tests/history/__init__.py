"""The seller's answer: the work history and what must never reach it."""
