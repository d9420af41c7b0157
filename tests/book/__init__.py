"""The book on real databases: SQLite files and a PostgreSQL server of the tests' own."""
