"""Intake: what people really send, read right or refused with words that help."""
