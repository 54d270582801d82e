"""Stateless calculations."""
