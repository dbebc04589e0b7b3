"""What an unknown file's columns are: proposed from header words, from what stands in them, and from how they go together."""
