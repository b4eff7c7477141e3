"""What holds for every test: how long an example takes is never what fails it; ``make bench`` measures."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("untimed", deadline=None)
settings.load_profile("untimed")
