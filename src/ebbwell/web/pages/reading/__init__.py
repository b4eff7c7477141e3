"""A row of readings."""
