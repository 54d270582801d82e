"""The transmissions of the catalogue."""
