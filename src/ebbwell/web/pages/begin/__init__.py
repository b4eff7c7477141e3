"""The first run: what this is and isn't, the home, who lives and helps here."""
