"""One file a sign: one measured piece of evidence."""
