"""Stop now: one tap from any page, by anyone."""
