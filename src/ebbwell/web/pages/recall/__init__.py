"""A lot that is called back, and the nights it was used on."""
