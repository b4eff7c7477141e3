"""Working one line of the plan out from inputs or from lines before it."""

from __future__ import annotations

from dataclasses import replace

from ebbwell.core.worked import Input, Outcome, Worked
from ebbwell.science import catalogue


def work_line(name: str, **given: Input | Worked | None) -> Worked:
    """Work a line out; one that rests on a line without a value has none either, and says on which.

    Raises UnitError for an Input whose unit measures something else.
    """
    values = {
        key: Input(key, one.value, one.unit) if isinstance(one, Worked) else one for key, one in given.items()
    }
    line = catalogue.work(name, values)
    empty = next((one for one in given.values() if isinstance(one, Worked) and one.value is None), None)
    if empty is not None:
        outcome = Outcome.NOTHING if empty.outcome is Outcome.NOTHING else Outcome.MISSING
        line = replace(line, outcome=outcome, why="plan.rests_on", why_params=(("line", empty.name),))
    return line
