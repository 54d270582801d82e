"""Rules and arithmetic of automatic-transmission fluid service."""
