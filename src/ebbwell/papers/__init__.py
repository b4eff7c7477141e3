"""Papers: what is read, kept or handed over. For now the sheet of a night as text."""
