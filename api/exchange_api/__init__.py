"""The HTTP service over libexchange."""
