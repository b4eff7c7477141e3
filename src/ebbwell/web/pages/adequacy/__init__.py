"""The dose of dialysis from monthly bloods, for the talk with the unit: figures, their bands and their working."""
