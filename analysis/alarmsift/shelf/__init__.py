"""Finds the files of a room, so that a new sign or cause is one new file."""
