"""Signed records, verified."""
