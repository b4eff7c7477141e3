"""In what the household weighs and measures."""
