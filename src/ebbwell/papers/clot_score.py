"""The clotting score of a night beside the heparin of that night, for the sheet: figures, and no word on either."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from decimal import Decimal

from ebbwell.core.numbers import plain
from ebbwell.core.text import say
from ebbwell.deeds.desk import Desk
from ebbwell.journal.kinds.marks import Choice
from ebbwell.journal.kinds.night import Given
from ebbwell.papers.heparin_now import first_dose
from ebbwell.papers.night_now import ordered_line
from ebbwell.papers.words import given_words, option_words
from ebbwell.procedure.evidence import number_in
from ebbwell.procedure.heparin_facts import heparin_hours, vial_times
from ebbwell.science.catalogue import work
from ebbwell.state.facts import Fact
from ebbwell.state.night import pump_stopped
from ebbwell.state.night_thinner import FIRST_DOSE, READY_DOSE, STRENGTH, score_of, scores_of

INTO = "given_into"
"""The pick of where a ready dose went in."""


def score_lines(desk: Desk, names: Mapping[str, str]) -> list[str]:
    """The score with who gave it, and the blood thinner of the night; () where it stands beside the first dose
    already, where nobody looked, and where two picks differ.

    names: id to name. Source: fluids:3.4 (a judgement: keep who scored).
    """
    score = _score(desk, names)
    if not score or _dose(desk) is not None:
        return []
    kind = ordered_line(desk, "anticoagulant")
    if not kind:
        return [score]
    beside = [say("sheet.heparin_no_first"), *_by_pump(desk)] if kind == "heparin" else _medicines(desk, kind)
    return [", ".join([score, *beside])]


def beside_dose(desk: Desk, fact: Fact, names: Mapping[str, str]) -> str:
    """What is put after the first dose of heparin once somebody scored: the pump's units by the plan, both together,
    for each kg of the target weight, and the score. After a ready dose where it went in. "" after anything else.
    """
    if getattr(fact.body, "what", "") == READY_DOSE:
        into = [option_words(INTO, body.option) for body in _choices(desk) if body.name == INTO]
        return "".join(f"; {words}" for words in into)
    score, dose = _score(desk, names), _dose(desk)
    if not score or dose is None or fact.id != dose.id:
        return ""
    return "; " + ", ".join([*_by_pump(desk), score])


def _choices(desk: Desk) -> list[Choice]:
    return [f.body for f in desk.treatment.of("choice") if isinstance(f.body, Choice)]


def _score(desk: Desk, names: Mapping[str, str]) -> str:
    score = score_of(scores_of(desk.treatment))
    return "" if score is None else say("sheet.clot_score", value=score[0], who=names.get(score[1], score[1]))


def _dose(desk: Desk) -> Fact | None:
    """The first dose of heparin that is counted: the last entry that says it, where they don't differ."""
    if first_dose(desk) is None or ordered_line(desk, "anticoagulant") != "heparin":
        return None
    given = [f for f in desk.treatment.of("given") if getattr(f.body, "what", "") == FIRST_DOSE]
    return given[-1]


def _by_pump(desk: Desk) -> list[str]:
    """Units of the pump, and with a first dose on record the sum and what that is for each kg."""
    end = pump_stopped(desk.treatment)
    first, pumped = first_dose(desk), None if end is None else _pumped(desk, end)
    said = [say("sheet.heparin_beside", pumped=_units(pumped))]
    if first is not None and pumped is not None:
        said.append(say("sheet.heparin_beside_total", total=_units(first + pumped)))
        said += _each_kg(first + pumped, number_in(ordered_line(desk, "target_weight")))
    return said


def _each_kg(units: Decimal, weight: Decimal | None) -> list[str]:
    """For each kg of the target weight, as on the plan."""
    each = None if weight is None else work("units_per_kg", {"dose_units": units, "weight_kg": weight}).value
    if each is None:
        return []
    return [say("sheet.heparin_beside_kg", each=plain(each.quantize(Decimal("0.1")).normalize()))]


def _medicines(desk: Desk, kind: str) -> list[str]:
    return [
        option_words("anticoagulant", kind),
        *(
            " ".join(part for part in (given_words(body.what), body.amount, body.unit) if part)
            for fact in desk.treatment.of("given")
            if isinstance(body := fact.body, Given) and body.medicine
        ),
    ]


def _pumped(desk: Desk, end: datetime) -> Decimal | None:
    """Units that the pump gave by the plan until it stopped, or the person came off. Source: fluids:3.3."""
    run, rate = heparin_hours(desk.treatment, end), number_in(ordered_line(desk, "heparin_rate"))
    if run is None or rate is None or _other_vial(desk):
        return None
    counted = {"first_dose_units": Decimal(0), "rate_units_h": rate, "run_time_h": min(run)}
    return work("heparin_total", counted).value


def _other_vial(desk: Desk) -> bool:
    """Whether a vial was read as another strength than the ordered one: the units of the order aren't what went in."""
    return vial_times(desk.treatment, number_in(ordered_line(desk, STRENGTH))) != 1


def _units(value: Decimal | None) -> str:
    if value is None:
        return say("sheet.heparin_unknown")
    return f"{plain(value.quantize(Decimal(1)))} units"
