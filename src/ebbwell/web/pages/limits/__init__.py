"""Every limit that a rule judges by, with value, bounds, owner and source; and the unit's own limits."""
