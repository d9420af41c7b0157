"""The pages over a running server, and in a browser."""
