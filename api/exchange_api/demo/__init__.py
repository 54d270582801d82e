"""The invented demonstration: one service, three callers, from request to anonymised pull."""
