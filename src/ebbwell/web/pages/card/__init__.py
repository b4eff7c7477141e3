"""The card of first actions, for paper."""
