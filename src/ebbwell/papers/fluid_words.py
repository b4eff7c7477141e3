"""The fluid to expect, in sentences: what order and label promise, and each meter that was read beside it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import ROUND_HALF_UP, Decimal

from ebbwell.core.findings import Finding, Grade, say_finding
from ebbwell.core.numbers import plain
from ebbwell.core.text import say
from ebbwell.core.worked import Input
from ebbwell.deeds.desk import Desk
from ebbwell.deeds.families import family_findings
from ebbwell.deeds.fluid_expected import expected_fluid, expected_powder, ordered_label, ordered_powder
from ebbwell.deeds.meters import at_25
from ebbwell.journal.kinds.fluid import LIQUID
from ebbwell.papers.shown_beside import ph_window
from ebbwell.plan.fluid import FluidExpected
from ebbwell.science import catalogue
from ebbwell.state.facts import agreed_measure
from ebbwell.state.labels import Label, liquid_share

METERS = ("machine", "meter")
HUNDREDTH = Decimal("0.01")


@dataclass(frozen=True)
class FluidWords:
    """apart: what order and label say otherwise, to be settled with the unit. lines: a sentence each. missing: why
    there is no figure. label: the entry that waits for a second reading, "" for none. powder: what the label of the
    bicarbonate gives.
    """

    apart: tuple[str, ...]
    lines: tuple[str, ...]
    missing: str = ""
    label: str = ""
    powder: tuple[str, ...] = ()


def fluid_words(desk: Desk) -> FluidWords:
    """Everything that is said of the fluid to expect. Reads on meters are those of tonight."""
    words = _acid_words(desk)
    families = tuple(say_finding(found) for found in family_findings(desk))
    return replace(words, apart=(*families, *words.apart), powder=_powder_words(desk))


def _liquid_words(desk: Desk, label: Label | None) -> tuple[str, ...]:
    """What the sums about liquid bicarbonate rest on; () where the order has none."""
    order = desk.scene.order
    if order is None or order.lines.get("bicarbonate_form") != LIQUID:
        return ()
    found = liquid_share(desk.standing, order.lines)
    if found is None:
        return (say("fluid.liquid_no_share"),)
    share = plain(found[0])
    if found[1] and label is not None:
        return (say("fluid.liquid", code=label.code, share=share),)
    return (say("fluid.liquid_family", parts=order.lines["acid_parts"], share=share),)


def _powder_words(desk: Desk) -> tuple[str, ...]:
    label = ordered_powder(desk)
    return (*_dry_words(desk), *_liquid_words(desk, label))


def _dry_words(desk: Desk) -> tuple[str, ...]:
    label, powder = ordered_powder(desk), expected_powder(desk)
    if label is None:
        return ()
    if not label.goes_by:
        return (say("fluid.label_differs" if label.differs else "fluid.label_waits", code=label.code),)
    if powder is None:
        return ()
    return (
        say(
            "fluid.powder",
            code=label.code,
            grams=_text(powder.grams),
            mixed=_text(powder.mixed),
            litres=catalogue.shown(powder.makes),
            hours=catalogue.shown(powder.lasts),
        ),
    )


def _acid_words(desk: Desk) -> FluidWords:
    code, label = ordered_label(desk)
    if not code:
        return FluidWords((), (), say("fluid.no_code"))
    if label is None:
        return FluidWords((), (), say("fluid.no_label", code=code))
    if not label.goes_by:
        key = "fluid.label_differs" if label.differs else "fluid.label_waits"
        return FluidWords((), (), say(key, code=code), label.facts[-1].id)
    expected = expected_fluid(desk)
    if expected is None:
        return FluidWords((), (), say("fluid.no_order"))
    apart = tuple(
        say("fluid.apart", name=say(f"label.{name}"), ordered=_text(ordered), label=_text(printed))
        for name, ordered, printed in expected.apart
    )
    return FluidWords(apart, tuple(_lines(desk, expected)))


def fluid_findings(desk: Desk) -> tuple[Finding, ...]:
    """What order and labels say against each other and against what was read tonight.

    Dilutions of two families; more powder than the label holds; a meter further off than the limit for a stop lets a
    setting be, which only asks to look: the figure is a sum, not a calibration. Source: fluids 2.1, fluids 2.4.
    """
    return (*family_findings(desk), *_powder_findings(desk), *_meter_findings(desk))


def _powder_findings(desk: Desk) -> tuple[Finding, ...]:
    powder = expected_powder(desk)
    if powder is None or powder.over is None:
        return ()
    return (
        Finding(
            "powder_over_label",
            Grade.CARE,
            (
                ("code", powder.label.code),
                ("grams", _text(powder.grams)),
                ("read", f"{plain(powder.over)} g"),
            ),
            ("arithmetic",),
            next_step="next.check_concentrates",
            fact="bicarbonate_powder",
        ),
    )


def _meter_findings(desk: Desk) -> tuple[Finding, ...]:
    expected = expected_fluid(desk)
    value = expected.conductivity.value if expected is not None else None
    if expected is None or value is None:
        return ()
    most = desk.rulebook.limit("conductivity_stop").value
    return tuple(
        Finding(
            "conductivity_off_label",
            Grade.CARE,
            (("expected", catalogue.shown(expected.conductivity)), ("read", f"{plain(read)} mS/cm")),
            ("fluids:2.4",),
            next_step="next.check_concentrates",
            fact=f"fluid_conductivity@{place}",
        )
        for place in METERS
        if (read := _read(desk, place)) is not None
        and (at := _at_25(desk, place, read)) is not None
        and 100 * abs(at - value) / value > most
    )


def _text(value: Input) -> str:
    return f"{plain(value.value)} {value.unit}" if value.value is not None else say("outcome.missing")


def _lines(desk: Desk, expected: FluidExpected) -> list[str]:
    value = expected.conductivity.value
    if value is None:
        return [say("fluid.not_known")]
    spread = expected.give_or_take.value
    percent = catalogue.shown(expected.give_or_take)
    lines = [say("fluid.expected", value=catalogue.shown(expected.conductivity), percent=percent)]
    for place in METERS:
        read = _read(desk, place)
        if read is not None:
            lines.append(_meter_words(desk, place, read, value, spread))
    if len(lines) > 1:
        lines.append(say("fluid.moves"))
    lines.append(
        say(
            "fluid.composition",
            chloride=catalogue.shown(expected.chloride),
            osmolarity=catalogue.shown(expected.osmolarity),
        )
    )
    if expected.ph.value is not None:
        lines.append(say("fluid.ph", ph=catalogue.shown(expected.ph), window=ph_window(desk.rulebook)))
    return lines


def _meter_words(desk: Desk, place: str, read: Decimal, value: Decimal, spread: Decimal | None) -> str:
    """One reading held against the figure for 25 C, or why it isn't."""
    meter, shown = say(f"fluid.meter.{place}"), f"{plain(read)} mS/cm"
    found = at_25(desk, place, read)
    if isinstance(found, str):
        return say(found, meter=meter, value=shown)
    if found.value is None:
        return say("fluid.read_far", meter=meter, value=shown)
    if found.value != read:
        shown = say("fluid.read_as", value=shown, at_25=catalogue.shown(found))
    off = 100 * (found.value - value) / value
    inside = spread is not None and abs(off) <= spread
    return say(
        "fluid.read_inside" if inside else "fluid.read_outside",
        meter=meter,
        value=shown,
        off=f"{off.quantize(Decimal('0.1'), ROUND_HALF_UP):+f} %",
    )


def _at_25(desk: Desk, place: str, read: Decimal) -> Decimal | None:
    found = at_25(desk, place, read)
    return None if isinstance(found, str) else found.value


def _read(desk: Desk, place: str) -> Decimal | None:
    facts = desk.treatment.at_slot("measured", "fluid_conductivity", place) if desk.treatment_id else ()
    body = agreed_measure(facts)
    return None if body is None else Decimal(body.value)
