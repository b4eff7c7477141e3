"""Something happened: one short form for each kind of thing."""
