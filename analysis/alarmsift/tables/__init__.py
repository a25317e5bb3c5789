"""The canonical tables and the frozen records that travel between rooms."""
