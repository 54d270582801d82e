"""The audit log."""
