"""The steps in the household's own words and order."""
