"""Who lives and helps here, and what each is signed off for."""
