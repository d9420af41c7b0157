"""The public work history: what a buyer may know, and nothing else."""
