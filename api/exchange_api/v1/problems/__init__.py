"""What the problem types mean."""
