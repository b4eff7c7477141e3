"""How a figure is worked out: formula, inputs with where each came from, result and source."""
