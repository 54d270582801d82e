"""Anonymised releases for the data team."""
