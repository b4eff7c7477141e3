"""The packs of last time, held against those that lie here now."""
