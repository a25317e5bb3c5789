"""The contract of a cause, and the weighing."""
