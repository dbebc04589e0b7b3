"""The store folder: what is received, what is built, and which build answers."""
