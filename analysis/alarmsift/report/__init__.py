"""Pages, plots and files for other programs."""
