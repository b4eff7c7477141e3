"""Labels of acid and bicarbonate: what is on record, reading one, reading it again."""
