"""The prescription: what is in force, typing it from the paper, second checks, lines changed by phone."""
