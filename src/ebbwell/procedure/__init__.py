"""Ordered steps as data, their lint, and the judging of hold points."""
