"""A household's own wording and order of the steps: a text of its own that may ask for more, never for less."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterable, Mapping
from functools import lru_cache

from ebbwell.procedure.lint import weakened
from ebbwell.procedure.load import load_procedure, parse_procedure
from ebbwell.procedure.model import Problem, Procedure, ProcedureRefused

PARTS = ("do", "why", "how")
"""Parts of a step that can be worded anew."""

_STEP = "[[step]]"
_WORDS = "\n[words]\n"


@lru_cache(maxsize=8)
def known_procedure(text: str) -> Procedure:
    """The procedure of a text, read once. Raises ProcedureRefused as ``parse_procedure`` does."""
    return parse_procedure(text)


@lru_cache(maxsize=8)
def own_procedure(text: str) -> Procedure:
    """A household's procedure. Raises ProcedureRefused where it asks for less than the shipped one, or words what
    isn't a household's to word: questions, answers and places keep the words that hold points are judged by.

    Source: practice:H67.
    """
    theirs = known_procedure(text)
    shipped = load_procedure()
    problems = [] if theirs.id == shipped.id else [Problem("problem.other_id", detail=theirs.id)]
    problems += [
        Problem("problem.words_fixed", detail=key) for key in theirs.words if not may_word(key, theirs)
    ]
    problems += weakened(theirs, shipped)
    if problems:
        raise ProcedureRefused(tuple(problems))
    return theirs


def may_word(key: str, procedure: Procedure) -> bool:
    """Whether a household may word a key: what to do, why and how of a step, and the name of a bundle.

    Words that a new step needs, such as those of its answers, can be given too, as long as no shipped step has them.
    """
    theme, _, rest = key.partition(".")
    if theme == "bundle":
        return True
    step, _, part = rest.partition(".")
    if theme == "step":
        return procedure.has(step) and part in PARTS
    shipped = load_procedure()
    new = {e.name for s in procedure.steps if not shipped.has(s.id) for e in s.evidence}
    old = {e.name for s in shipped.steps for e in s.evidence}
    return theme in ("ask", "choice", "option") and rest.partition(".")[0] in new - old


def with_words(text: str, words: Mapping[str, str]) -> str:
    """The text with these words in place of its own for the same keys; an empty one takes the household's away."""
    head, _, _ = text.partition(_WORDS)
    merged = {**tomllib.loads(text).get("words", {}), **words}
    kept = {key: value for key, value in merged.items() if value}
    if not kept:
        return head
    rows = "".join(
        f"{json.dumps(key)} = {json.dumps(value, ensure_ascii=False)}\n"
        for key, value in sorted(kept.items())
    )
    return f"{head.rstrip()}\n{_WORDS}{rows}"


def with_order(text: str, bundles: Iterable[str]) -> str:
    """The text with the steps of these bundles in this order, each step in a place that one of them had before."""
    body, _, words = text.partition(_WORDS)
    first, *rest = body.split(f"\n{_STEP}\n")
    chunks = [chunk if chunk.endswith("\n") else f"{chunk}\n" for chunk in rest]
    bundle_of = [tomllib.loads(f"{_STEP}\n{chunk}")["step"][0].get("bundle", "") for chunk in chunks]
    rank = {name: place for place, name in enumerate(bundles)}
    slots = [place for place, name in enumerate(bundle_of) if name in rank]
    moved = sorted(slots, key=lambda place: (rank[bundle_of[place]], place))
    ordered = list(chunks)
    for slot, place in zip(slots, moved, strict=True):
        ordered[slot] = chunks[place]
    whole = "".join([first.rstrip("\n") + "\n", *(f"\n{_STEP}\n{chunk}" for chunk in ordered)])
    return f"{whole.rstrip()}\n{_WORDS}{words}" if words else whole
