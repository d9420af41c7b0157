"""The book: the only room with a database. Everything else reaches it through this door."""
