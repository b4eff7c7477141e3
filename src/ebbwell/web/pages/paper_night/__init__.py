"""A whole night as paper to print beforehand."""
