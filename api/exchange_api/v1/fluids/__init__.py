"""The fluids of the catalogue."""
