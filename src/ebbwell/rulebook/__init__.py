"""Limits as data, each with source, owner and bounds, and what they say about a set of facts."""
