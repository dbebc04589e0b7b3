"""How known files are laid out, as TOML."""
