"""The additives of the catalogue."""
