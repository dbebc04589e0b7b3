"""One chart a file: frame in, chart out."""
