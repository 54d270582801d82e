"""Public keys, for whoever verifies a record."""
