"""What nights add up to: figures over many of them, for looking back and for the talk with the unit."""
