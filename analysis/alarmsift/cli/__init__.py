"""Words in, exit status out."""
