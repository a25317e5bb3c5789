"""Log files in, canonical tables out."""
