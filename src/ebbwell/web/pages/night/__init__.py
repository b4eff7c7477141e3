"""The running night at a glance."""
