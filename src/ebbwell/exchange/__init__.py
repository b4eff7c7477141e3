"""Exchange: what comes from other programs and goes to them, as files in open formats."""
