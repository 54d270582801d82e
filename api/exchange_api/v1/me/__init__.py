"""Who the key belongs to."""
