"""Connecting: what keeps it shut, and the one deed that the set-up leads to."""
