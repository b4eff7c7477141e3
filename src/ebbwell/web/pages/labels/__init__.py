"""Labels of the acid concentrate: what is on record, reading one, reading it again."""
