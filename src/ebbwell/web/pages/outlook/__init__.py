"""If nothing changes: levels before and after the coming nights."""
