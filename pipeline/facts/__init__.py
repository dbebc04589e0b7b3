"""One SQL file per fact that the measures count."""
