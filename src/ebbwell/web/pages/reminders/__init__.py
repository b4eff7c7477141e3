"""Reminders of one screen, turned on by a deliberate step."""
