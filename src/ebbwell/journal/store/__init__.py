"""Where entries lie: SQLite on disk, or memory for tests and the model checker."""
