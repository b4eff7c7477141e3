"""What a person can do: one function a deed. Each refuses or gives the entries to append."""
