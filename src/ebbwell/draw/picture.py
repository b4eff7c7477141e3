"""What is round every picture: the element with its size, its words for a screen reader, and the letters."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from ebbwell.draw.palette import Palette
from ebbwell.draw.svg import NAME, element, escape, number

FONTS: Final = "Atkinson Hyperlegible, Noto Sans, DejaVu Sans, sans-serif"


def picture(
    parts: Iterable[str],
    palette: Palette,
    *,
    title: str,
    desc: str,
    name: str,
    width: float,
    height: float,
    size: float,
) -> str:
    """Parts in one SVG element that scales to the space it is given.

    parts: ready SVG, drawn in this order. title: read out and shown as tip; desc: all of it in words. name: begins the
    ids inside. width, height, size of the words: in the picture's own unit. Raises ValueError for a
    name that can't begin an id.
    """
    if not NAME.fullmatch(name):
        raise ValueError(f"{name!r} can't begin an id")
    told = [
        element("title", escape(title), id=f"{name}-title"),
        element("desc", escape(desc), id=f"{name}-desc"),
    ]
    return element(
        "svg",
        "".join([*told, *parts]),
        xmlns="http://www.w3.org/2000/svg",
        viewBox=f"0 0 {number(width)} {number(height)}",
        role="img",
        aria_labelledby=f"{name}-title {name}-desc",
        class_=f"draw draw-{palette.name}",
        font_family=FONTS,
        font_size=size,
        fill=palette.ink,
    )
