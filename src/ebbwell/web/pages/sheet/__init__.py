"""The sheet of one treatment, exceptions first."""
