"""The page of the person on dialysis."""
