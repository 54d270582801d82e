"""Version 1 of the HTTP interface: one folder a resource, none of which imports another."""
