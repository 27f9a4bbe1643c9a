"""The records of keyboards and runs, in SQLite or PostgreSQL."""
