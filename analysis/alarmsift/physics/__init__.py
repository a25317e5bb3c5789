"""Laws of sample lines, detectors and spaces, in SI units."""
