"""One record per figure: what it is called, what it means, how it is worked out."""
