"""Tonight: the one next thing, and what is still open."""
