"""Published rules, one file each; found by their folder, nothing to register."""
