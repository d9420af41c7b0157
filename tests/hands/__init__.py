"""Several who write in one book at once."""
