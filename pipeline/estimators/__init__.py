"""Arrays or counted cells in, numbers out; no database, no files."""
