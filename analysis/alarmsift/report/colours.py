"""The colours that all plots share."""

INK, SOFT, GRID, FRAME, PAPER = "#15202b", "#4c5a66", "#e6eaed", "#9aa5ae", "#ffffff"
BLUE, GREEN, RED, AMBER = "#0072b2", "#008060", "#7a1420", "#a65a00"
FONTS = "'Segoe UI', Roboto, Arial, 'DejaVu Sans', sans-serif"  # what the reader's machine has
