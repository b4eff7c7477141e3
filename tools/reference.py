"""Writes docs/reference.md from the program itself: formulas, kinds, steps, limits, rules, the Python API.

``python -m tools.reference`` writes it, and the API snapshot with it; ``--check`` only says whether it is fresh.
"""

from __future__ import annotations

import inspect
import sys
from collections.abc import Iterator
from pathlib import Path

import msgspec

from ebbwell.core.numbers import plain
from ebbwell.core.text import has_text, say
from ebbwell.journal.kinds import known_kinds
from ebbwell.procedure.load import load_procedure, shipped_names
from ebbwell.procedure.model import Procedure, Step, iso_length
from ebbwell.rulebook.load import load_rulebook
from ebbwell.rulebook.model import Limit, Rule
from ebbwell.science.catalogue import formulas
from ebbwell.science.formula import Formula
from tools import signatures

TARGET = Path(__file__).parent.parent / "docs/reference.md"

HEAD = """# Reference

Written by `make docs` from the program itself; a test fails when it is stale. Don't edit it by hand.

Parts: [formulas](#formulas) | [kinds of entry](#kinds-of-entry) | [steps of a night](#steps-of-a-night) |
[limits](#limits) | [rules](#rules) | [Python API](#python-api)

Figures here are for checking what your clinic ordered. None of them is advice. Exit codes stand in
[exit_codes.md](exit_codes.md). What each formula is held against stands in [checks.md](checks.md).
"""


def _row(*cells: str) -> str:
    return "| " + " | ".join(cell.replace("|", "\\|").replace("\n", " ") for cell in cells) + " |"


def _table(*head: str) -> Iterator[str]:
    yield _row(*head)
    yield _row(*("---" for _ in head))


def _source(key: str) -> str:
    source = load_rulebook().source(key)
    return f"{source.title} ({key}, {source.kind})"


def _formula(one: Formula) -> Iterator[str]:
    yield f"### {one.name}"
    yield ""
    rounded = {"nearest": "", "down": ", rounded down", "up": ", rounded up"}[one.rounding]
    yield f"{say(one.meaning)}. Unit: {one.unit or 'none'}; shown with {one.places} decimals{rounded}."
    yield ""
    yield f"    {one.name} = {one.text}"
    yield ""
    yield from _table("input", "meaning", "unit", "from", "to", "left out")
    for i in one.inputs:
        left_out = "must be given" if i.default is None else f"counts as {plain(i.default)}"
        yield _row(f"`{i.name}`", say(i.meaning), i.unit, plain(i.low), plain(i.high), left_out)
    yield ""
    yield f"Source: {_source(one.source)}."
    yield ""


def _formulas() -> Iterator[str]:
    yield "## Formulas"
    yield ""
    yield "Each can be worked out with `ebbwell work NAME key=value ...`. A value outside its range is refused."
    yield ""
    for one in formulas(review=True):
        yield from _formula(one)


def _kinds() -> Iterator[str]:
    yield "## Kinds of entry"
    yield ""
    yield "What the record can hold. A program that meets a kind it doesn't know keeps it byte for byte. Where"
    yield "it has to understand the kind, it also keeps its gate shut."
    yield ""
    yield from _table("kind", "version", "has to be understood", "fields", "what it says")
    for kind, body in sorted(known_kinds().items()):
        fields = ", ".join(f"`{f.name}`" for f in msgspec.structs.fields(body))
        must = "yes" if body.MUST_UNDERSTAND else "no"
        said = " ".join((inspect.getdoc(body) or "").split("\n\n")[0].split())
        yield _row(f"`{kind}`", str(body.VERSION), must, fields, said)
    yield ""


def _step(step: Step) -> str:
    key = f"step.{step.id}.do"
    return _row(
        step.id,
        say(key) if has_text(key) else "",
        step.kind,
        " ".join(step.after),
        "; ".join(f"`{each}`" for each in step.evidence),
        "; ".join(f"`{each}`" for each in step.bounds),
        "" if step.second == "none" else step.second.replace("_", " "),
        "" if step.valid is None else iso_length(step.valid),
        step.skip,
        step.gate,
        "; ".join(f"`{each}`" for each in step.reopens_on),
        " ".join(step.hazards),
    )


def _steps() -> Iterator[str]:
    yield "## Steps of a night"
    yield ""
    for name in shipped_names():
        yield from _procedure(load_procedure(name))


def _procedure(procedure: Procedure) -> Iterator[str]:
    yield f"Procedure `{procedure.id}`, version {procedure.version}. A `hold` keeps its gate shut until it is met."
    yield ""
    yield from _table(
        "step",
        "do",
        "kind",
        "after",
        "evidence",
        "bounds",
        "second check",
        "holds for",
        "left out",
        "gate",
        "opened again by",
        "hazards",
    )
    yield from map(_step, procedure.steps)
    yield ""
    if procedure.sums:
        yield f"Lines of the plan that `{procedure.id}` has of its own, each from:"
        yield ""
        for each in procedure.sums:
            yield f"- `{each.name}`: " + ", ".join(f"{name} = {text}" for name, text in each.inputs.items())
        yield ""


def _limit(limit: Limit) -> str:
    return _row(
        f"`{limit.id}`",
        say(f"limit.{limit.id}"),
        f"{plain(limit.value)} {limit.unit}",
        limit.owner,
        f"{plain(limit.lowest)} to {plain(limit.highest)}",
        limit.tighten,
        _source(limit.source),
        limit.mark,
    )


def _limits() -> Iterator[str]:
    yield "## Limits"
    yield ""
    yield "The owner may set a limit within the bounds. `fixed`: nobody moves it. The mark says how well the"
    yield "figure is founded; `design` is our own proposal, to be replaced by your unit's figure."
    yield ""
    yield from _table("limit", "label", "value", "owner", "bounds", "stricter", "source", "mark")
    yield from map(_limit, load_rulebook().limits())
    yield ""


def _rule(rule: Rule) -> str:
    judged = f"`{rule.fact}`" + (f" against `{rule.other}`" if rule.other else "")
    by = ", ".join((*(f"`{each}`" for each in rule.limit), *rule.words))
    return _row(
        f"`{rule.id}`", rule.grade, rule.kind, judged, by, " ".join(rule.sources), " ".join(rule.hazards)
    )


def _rules() -> Iterator[str]:
    yield "## Rules"
    yield ""
    yield 'How facts become findings. A rule without data says "not known".'
    yield ""
    yield from _table("rule", "grade", "kind", "judges", "by", "sources", "hazards")
    yield from map(_rule, load_rulebook().rules())
    yield ""


def _api() -> Iterator[str]:
    yield "## Python API"
    yield ""
    yield "What others may build on. Signatures are held in `tests/api.txt`."
    yield ""
    for path in signatures.public_files():
        names = list(signatures.public_names(path))
        if not names:
            continue
        yield f"### {signatures.module_name(path)}"
        yield ""
        yield from (f"- `{name}`: {said}" for name, _, said in names)
        yield ""


def text() -> str:
    """The whole page."""
    parts = (_formulas(), _kinds(), _steps(), _limits(), _rules(), _api())
    lines = [HEAD, *(line for part in parts for line in part)]
    return "\n".join(lines).rstrip("\n") + "\n"


def main() -> int:
    """Write or check the page; 1 when a check finds it stale."""
    fresh = text()
    if "--check" in sys.argv:
        if TARGET.exists() and TARGET.read_text("utf-8") == fresh:
            return 0
        print("stale: docs/reference.md; run `make docs`")
        return 1
    TARGET.write_text(fresh, "utf-8")
    return signatures.main()


if __name__ == "__main__":
    sys.exit(main())
