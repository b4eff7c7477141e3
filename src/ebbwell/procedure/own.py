"""A household's own wording and order of the steps: a text of its own that may ask for more, never for less."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterable, Mapping
from functools import lru_cache

from ebbwell.procedure.lint import weakened
from ebbwell.procedure.load import USUAL, load_procedure, parse_procedure, shipped_names
from ebbwell.procedure.model import Problem, Procedure, ProcedureRefused

PARTS = ("do", "why", "how")
"""Parts of a step that can be worded anew."""

_STEP = "[[step]]"
_WORDS = "\n[words]\n"


@lru_cache(maxsize=8)
def known_procedure(text: str) -> Procedure:
    """The procedure of a text, read once. Raises ProcedureRefused as ``parse_procedure`` does."""
    return parse_procedure(text)


def choice_of(name: str) -> str:
    """The text by which a household goes by a procedure that comes with the program, whatever its newest steps are."""
    return f"id = {json.dumps(name)}\n"


def chosen(text: str) -> str:
    """Name of the shipped procedure that a text does no more than choose; "" where it has steps of its own.

    An empty text chooses the usual one.
    """
    if not text.strip():
        return USUAL
    return next((name for name in shipped_names() if text.strip() == choice_of(name).strip()), "")


def whole_text(text: str) -> str:
    """The steps that a household's text stands for, written out: of the shipped one where it has none of its own."""
    name = chosen(text)
    return load_procedure(name).text if name else text


def shipped_for(text: str) -> Procedure:
    """The shipped procedure that a household's text is held against: the one with its id, else the usual one."""
    try:
        name = tomllib.loads(whole_text(text)).get("id", "")
    except tomllib.TOMLDecodeError:
        name = ""
    return load_procedure(name if name in shipped_names() else USUAL)


@lru_cache(maxsize=8)
def own_procedure(text: str) -> Procedure:
    """A household's procedure. Raises ProcedureRefused where it asks for less than the shipped one of its id, or words
    what isn't a household's to word: questions, answers and places keep the words that hold points are judged by.

    Source: practice:H67.
    """
    theirs = known_procedure(whole_text(text))
    shipped = shipped_for(text)
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
    shipped = load_procedure(procedure.id if procedure.id in shipped_names() else USUAL)
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
