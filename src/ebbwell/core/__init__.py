"""Units, typed numbers, worked values, findings, clock, ids, text by key. Nothing of the trade."""
