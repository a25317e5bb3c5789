"""Ships with known truth, made from physics."""
