"""The tests: one folder a room, shared strategies and check values beside them."""
