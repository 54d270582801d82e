"""Endpoints of webhooks, and what was delivered to them."""
