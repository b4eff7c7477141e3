"""The procedure's own lines of the plan as facts for the rules, so that a step can be held by one of them."""

from __future__ import annotations

from collections.abc import Mapping

from ebbwell.core.quantity import Quantity
from ebbwell.core.worked import Input, Outcome
from ebbwell.procedure.model import Procedure
from ebbwell.rulebook.evaluate import Fact as RuleFact
from ebbwell.rulebook.model import Rulebook
from ebbwell.science.catalogue import work


def with_sums(
    found: Mapping[str, RuleFact], procedure: Procedure, rulebook: Rulebook
) -> Mapping[str, RuleFact]:
    """The facts of tonight with every sum of the procedure whose measured value is there; None where it has no result.

    A sum that waits for its first measured value is no fact yet. rulebook: the one that the night was opened with.
    """
    if not procedure.sums:
        return found
    facts = dict(found)
    for each in procedure.sums:
        sources = {name: text.partition(":")[::2] for name, text in each.inputs.items()}
        measured = {about for source, about in sources.values() if source == "measured"}
        if not measured or not measured <= facts.keys():
            continue
        inputs: dict[str, Input | None] = {}
        for name, (source, about) in sources.items():
            if source == "limit":
                held = rulebook.limit(about)
                inputs[name] = Input(about, held.value, held.unit)
            else:
                fact = facts.get(f"{about}@prescribed" if source == "line" else about)
                inputs[name] = Input(about, fact.value, fact.unit) if isinstance(fact, Quantity) else None
        worked = work(each.name, inputs)
        value = worked.value if worked.outcome is Outcome.OK else None
        facts[each.name] = None if value is None else Quantity(value, worked.unit)
    return facts
