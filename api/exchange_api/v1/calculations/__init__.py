"""The stateless calculations."""
