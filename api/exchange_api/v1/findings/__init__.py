"""What the findings mean."""
