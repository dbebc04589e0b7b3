"""From a shop's files to honest figures; see DEVELOPERS.md for the path of the data."""
