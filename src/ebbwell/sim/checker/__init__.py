"""The model checker: drives the real deeds through every way round a hold point that it can think of.

``spec`` says in its own words when connecting is open; ``moves`` are the ways to try; ``search`` visits states and
compares; ``mutants`` takes one guard away at a time, each of which the search has to notice.
"""
