"""One file a cause or condition: what happens on board, put into the simulated ship's air."""
