"""Pages over a build: thin, by question."""
