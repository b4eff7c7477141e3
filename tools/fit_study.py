"""Writes docs/fit_study.md and its picture: how often the bands of ``science.fit`` hold the truth, for people made up.

``python -m tools.fit_study`` writes both. People are made with the fitted model, and with three models that differ from
it on purpose; the bands are counted the same way. Seeds are fixed, so that the page is the same on each run.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import exp, log
from pathlib import Path
from random import Random
from typing import NamedTuple

from ebbwell.draw.svg import element, words
from ebbwell.science.bands import Band
from ebbwell.science.fit import (
    CLEARANCE_DOUBT,
    LAB_DOUBT,
    USUAL_WATER,
    WATER_DOUBT,
    Fit,
    MonthBloods,
    fit,
)
from ebbwell.science.pools import Leg, Link, Pools, after
from ebbwell.science.schedule import WEEK_MIN, Body, Part, Treatment, settled

DOCS = Path(__file__).parent.parent / "docs"
MONTHS = 12
PEOPLE = 1000
PEOPLE_OTHERWISE = 300
"""Fewer for the models that are wrong: their bands miss by more than this number could blur."""
STARTS = (0.0, 1440.0, 4320.0, 7200.0)
MINUTES = 480.0
KILOS = 65.0
CLEARANCE = 0.180
GAIN = 0.9 / 1440
GENERATION = 0.22
GENERATION_SPREAD = 0.15
FADES = (1.15, 1.05, 0.95, 0.85)
"""Share of the clearance in each quarter of a night that fades: the mean is 1."""
LATE_MIN = 20.0
"""How late the biased samples are drawn, and nobody says so [min]."""


class Truth(NamedTuple):
    """What a made-up person is made with, and the weekly dose that follows from it."""

    water_share: float
    clearance_over: float
    generation: tuple[float, ...]
    standard: float


@dataclass(frozen=True)
class World:
    """How people are made. shares: of the pools; between: per litre of water [1/min]; parts: of a night; late [min]."""

    key: str
    words: str
    outer: float = 1 / 3
    between: float = 0.016
    parts: tuple[float, ...] = (1.0,)
    late_min: float = 0.0


WORLDS = (
    World("same", "the fitted model"),
    World("split", "other pools: a quarter of the water outside, half the flow between", 0.25, 0.008),
    World("fade", "a dialyser that fades from 115 % to 85 % over the night", parts=FADES),
    World("late", "second samples drawn 20 min late, and nobody says so", late_min=LATE_MIN),
)


def person(world: World, seed: int) -> tuple[Truth, tuple[MonthBloods, ...]]:
    """A made-up person and a year of bloods."""
    chance = Random(f"{world.key} {seed}")
    share = USUAL_WATER * exp(chance.gauss(0, WATER_DOUBT))
    over = exp(chance.gauss(0, CLEARANCE_DOUBT))
    volume = share * KILOS
    pools = Pools((world.outer, 1 - world.outer), (Link(0, 1, world.between * volume),))
    body = Body(pools, volume, 1.0, 0.0, (0.0, 0.0), GAIN)
    length = MINUTES / len(world.parts)
    parts = tuple(Part(length, CLEARANCE * over * one) for one in world.parts)
    course = settled(body, [Treatment(start, parts) for start in STARTS], WEEK_MIN)
    night = course.sessions[2]
    post = night.end
    if world.late_min:
        leg = Leg(world.late_min, night.volume_l, GAIN, (0.0, 0.0))
        post = pools.concentrations(after(pools.over(leg), night.masses, (1.0, 0.0)), leg.volume_end_l)[0]
    made, bloods = [], []
    for _ in range(MONTHS):
        level = GENERATION * exp(chance.gauss(0, GENERATION_SPREAD))
        first, second = (level * c * exp(chance.gauss(0, LAB_DOUBT)) for c in (night.before, post))
        made.append(level)
        bloods.append(MonthBloods(first, second, KILOS, CLEARANCE, GAIN, STARTS, MINUTES, WEEK_MIN, 2))
    return Truth(share, over, tuple(made), WEEK_MIN / (course.mean_before * volume)), tuple(bloods)


@dataclass(frozen=True)
class Count:
    """How a figure did over all people: share of bands that hold the truth [%], and the middle's mean error [%]."""

    held: float
    off: float


FIGURES: tuple[tuple[str, Callable[[Fit], Band], Callable[[Truth], float]], ...] = (
    ("Water in the body", lambda found: found.water_share, lambda truth: truth.water_share),
    ("The same, by profile", lambda found: found.water_profile, lambda truth: truth.water_share),
    ("Clearance", lambda found: found.clearance_over, lambda truth: truth.clearance_over),
    ("Urea made (first month)", lambda found: found.generation[0], lambda truth: truth.generation[0]),
    ("Weekly stdKt/V", lambda found: found.standard[0], lambda truth: truth.standard),
)


def study(world: World, people: int) -> tuple[Count, ...]:
    """Fit so many people of a world, and count each figure's bands."""
    held, off = [0] * len(FIGURES), [0.0] * len(FIGURES)
    for seed in range(people):
        truth, bloods = person(world, seed)
        found = fit(bloods)
        for at, (_, band_of, true_of) in enumerate(FIGURES):
            band, true = band_of(found), true_of(truth)
            held[at] += band.low <= true <= band.high
            off[at] += log(band.middle / true)
    return tuple(Count(100 * h / people, 100 * o / people) for h, o in zip(held, off, strict=True))


def picture(counts: Sequence[tuple[World, tuple[Count, ...]]]) -> str:
    """Share of bands that hold the truth: a row a figure, a mark a way of making people; 90 % is drawn as a line."""
    left, top, wide, tall = 190.0, 30.0, 380.0, 34.0
    ink, bottom = "#1b1f23", top + tall * len(FIGURES)
    parts = [element("title", "Share of 90 % bands that hold the truth, for four ways of making people")]
    for tick in range(0, 101, 10):
        x = left + wide * tick / 100
        style = {"stroke": "#5a3a5e", "stroke_width": 2.0} if tick == 90 else {"stroke": "#c9c2b4"}
        parts.append(element("line", x1=x, y1=top, x2=x, y2=bottom, **style))
        if tick % 20 == 0 or tick == 90:
            parts.append(words(f"{tick} %", x=x, y=top - 8, text_anchor="middle", font_size=11.0, fill=ink))
    for row, (name, _, _) in enumerate(FIGURES):
        y = top + tall * (row + 0.5)
        parts.append(words(name, x=left - 10, y=y + 4, text_anchor="end", font_size=12.0, fill=ink))
        for place, (world, found) in enumerate(counts):
            at = left + wide * found[row].held / 100
            parts.append(_mark(place, at, y + (place - 1.5) * 6))
            parts[-1] = parts[-1].replace(
                "/>", f"><title>{world.key}: {found[row].held:.1f} %</title></path>"
            )
    for place, (world, _) in enumerate(counts):
        y = bottom + 24 + 18 * place
        parts.append(_mark(place, 20.0, y - 4))
        parts.append(words(world.words, x=34.0, y=y, font_size=12.0, fill=ink))
    height = bottom + 24 + 18 * len(counts)
    return element(
        "svg",
        "".join(parts),
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 600 {height:.0f}",
        role="img",
        font_family="sans-serif",
    )


def _mark(place: int, x: float, y: float) -> str:
    """Filled for the fitted model, open for the others, each of another shape: no colour is needed."""
    r = 5.0
    shapes = (
        f"M{x - r},{y} a{r},{r} 0 1,0 {2 * r},0 a{r},{r} 0 1,0 {-2 * r},0 Z",
        f"M{x - r},{y - r} h{2 * r} v{2 * r} h{-2 * r} Z",
        f"M{x},{y - r} L{x + r},{y + r} L{x - r},{y + r} Z",
        f"M{x},{y - r} L{x + r},{y} L{x},{y + r} L{x - r},{y} Z",
    )
    fill = "#1b1f23" if place == 0 else "#f6f1e7"
    return element("path", d=shapes[place], fill=fill, stroke="#1b1f23")


def page(counts: Sequence[tuple[World, tuple[Count, ...]]]) -> str:
    """The page: what was done, the table, and what it means for a figure on a screen."""
    lines = [
        "# How far the fit can be believed",
        "",
        "Written by `python -m tools.fit_study`; a test makes it anew and compares. Don't edit it by hand.",
        "",
        f"People were made up by chance ({PEOPLE} with the fitted model, {PEOPLE_OTHERWISE} with each other one): "
        f"a share of water in the body ({USUAL_WATER:g} L/kg, give or take {WATER_DOUBT:.0%}), a clearance beside the "
        f"worked-out one (give or take {CLEARANCE_DOUBT:.0%}), urea made each month, and {MONTHS} pairs of bloods with "
        f"{LAB_DOUBT:.0%} of error in each figure. Nights: 4 of 8 h a week. `science.fit` saw the bloods alone. "
        "The table says how often its 90 % band held the truth, and how far its middle lay off on average.",
        "",
        "![Share of bands that hold the truth](fit_study.svg)",
        "",
        "| people made with | " + " | ".join(name for name, _, _ in FIGURES) + " |",
        "| --- |" + " --- |" * len(FIGURES),
    ]
    for world, found in counts:
        cells = (f"{one.held:.1f} %, off {one.off:+.1f} %" for one in found)
        lines.append(f"| {world.words} | " + " | ".join(cells) + " |")
    lines += [
        "",
        "Where people are made with the fitted model the bands do what they say. Where they aren't, the weekly dose",
        "is the figure that suffers most: its band is narrow, since the bloods hold the ratio of clearance to water",
        "well, and a small error of the model then lies outside it. So a band tells the doubt of the bloods and of what",
        "was put in, and not that of the model. Nothing here was tried on any person.",
        "",
    ]
    return "\n".join(lines)


def whole() -> list[tuple[World, tuple[Count, ...]]]:
    """The study as it is published."""
    return [(world, study(world, PEOPLE if world is WORLDS[0] else PEOPLE_OTHERWISE)) for world in WORLDS]


def main() -> None:
    """Write the page and its picture."""
    counts = whole()
    (DOCS / "fit_study.md").write_text(page(counts), "utf-8")
    (DOCS / "fit_study.svg").write_text(picture(counts) + "\n", "utf-8")


if __name__ == "__main__":
    main()
