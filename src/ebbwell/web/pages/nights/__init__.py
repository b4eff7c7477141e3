"""Past nights: one row each, with what stands on the sheet behind it."""
