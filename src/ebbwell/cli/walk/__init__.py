"""The night by the user's own typing: one question at a time, resumable at any of them."""
