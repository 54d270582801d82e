"""Attachments."""
