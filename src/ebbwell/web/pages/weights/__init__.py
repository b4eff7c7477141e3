"""Weight and fluid over past nights, for the talk with the unit."""
