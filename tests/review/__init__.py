"""Tests of what nights add up to."""
