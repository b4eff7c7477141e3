"""Heparin and clotting over past nights, for the talk with the unit."""
