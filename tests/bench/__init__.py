"""Speed and memory, run on demand: ``pytest -m bench -s -n 0``."""
