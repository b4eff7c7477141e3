"""What the entries say up to now. Gathers facts; judges nothing about hold points."""
