"""What is done first when something goes wrong, in the unit's own words."""
