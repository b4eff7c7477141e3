"""Tonight's figures, each worked, with its finish on the wall clock."""
