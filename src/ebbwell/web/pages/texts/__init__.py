"""The household's own words: what is read out on the phone, the unit's first actions, fields of a reading."""
