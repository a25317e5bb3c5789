"""One log folder, from bottom to top."""
