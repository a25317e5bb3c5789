"""One file a condition: the silent failures."""
