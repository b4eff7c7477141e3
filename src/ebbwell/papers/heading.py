"""What stands above every page, sheet and screen: whose record it is, and what the program is not."""

from __future__ import annotations

from ebbwell.core.readiness import practice_only
from ebbwell.core.text import say
from ebbwell.journal.kinds.house import Household


def practice_words(*, invented: bool) -> list[str]:
    """ "Practice only", while a hazard that can kill has no control; an invented household says that it is invented.

    Source: practice:H65.
    """
    return [say("practice_only")] if practice_only() and not invented else []


def heading(home: Household | None, stands: str = "") -> list[str]:
    """The household's name, "practice only" where it applies, and that nobody at the clinic looks on.

    stands: where the night stands, in words, put behind the name. An invented household says so first.
    Source: practice:H1, H65, H68, H69.
    """
    name = home.name if home is not None else say("sheet.no_name")
    invented = home is not None and home.invented
    first = [say("cli.invented")] if invented else practice_words(invented=False)
    whose = f"{name}: {stands}" if stands else say("heading.name", name=name)
    return [*first, whose, say("heading.nobody_sees")]
