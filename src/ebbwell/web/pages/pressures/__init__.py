"""Pressures of past nights, for the clinic."""
