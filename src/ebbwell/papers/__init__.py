"""Papers: what is read, kept or handed over: the sheet of a night as text and as PDF, and words for every screen."""
