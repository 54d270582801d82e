"""API keys of a workshop."""
