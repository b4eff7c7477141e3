"""Setting up: one step or one bundle a screen, from the first question to the open gate."""
