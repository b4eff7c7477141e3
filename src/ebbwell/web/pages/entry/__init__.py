"""One entry: what it says, putting it right, taking it back."""
