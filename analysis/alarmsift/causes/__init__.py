"""One file a cause of an alarm."""
