"""Handing the night to somebody else, or to this computer."""
