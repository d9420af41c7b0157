"""Materials: what the work uses up."""
