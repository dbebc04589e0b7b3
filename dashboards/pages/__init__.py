"""One page a file."""
