"""Invented people, faults and nights, all seeded. Never touches a real household's record."""
