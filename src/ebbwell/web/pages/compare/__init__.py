"""Patterns of nights beside each other, as questions for the clinic."""
