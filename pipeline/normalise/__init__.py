"""Phrases and written forms to meanings and typed values, each with the rule that read it."""
