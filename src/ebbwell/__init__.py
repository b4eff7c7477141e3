"""Ebbwell: works out tonight, walks through it, keeps the record of a night of home haemodialysis."""

__version__ = "0.1.0"
