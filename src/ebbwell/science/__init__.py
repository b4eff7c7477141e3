"""Pure sums: one flat module a physical topic. Knows no clock, file or record."""
