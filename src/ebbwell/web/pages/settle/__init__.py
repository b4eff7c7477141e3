"""Two entries that disagree: which one holds."""
