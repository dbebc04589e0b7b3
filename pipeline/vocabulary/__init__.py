"""Words of the trade and what they mean, as TOML."""
