"""Whether the service lives and can work."""
