"""Plans: made, previewed, read, listed."""
