"""Bloods: what the laboratory sent, beside its range and what the clinic wants."""
