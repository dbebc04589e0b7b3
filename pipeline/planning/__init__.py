"""Arrays in, decisions out; no database, no files."""
