"""The contract itself, for programs and for readers."""
