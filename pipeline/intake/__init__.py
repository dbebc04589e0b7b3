"""Files to rows of text, with identity replaced before anything reaches a disk."""
