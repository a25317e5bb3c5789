"""One file a layout: how a file of that shape is recognised and turned into the plain layout."""
