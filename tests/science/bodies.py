"""Bodies and patterns of treatments to draw from, in ranges wider than any that people have."""

from __future__ import annotations

from hypothesis import strategies as st

from ebbwell.science.pools import Leg, Link, Pools
from ebbwell.science.schedule import Body, Part, Treatment

DAY = 1440.0
STARTS = ((0.0, 24.0, 72.0, 120.0), (0.0, 48.0, 96.0), (0.0, 24.0, 48.0, 72.0, 96.0, 120.0), (0.0, 60.0))


def _pools(draw: st.DrawFn, most: int) -> Pools:
    count = draw(st.integers(1, most))
    parts = [draw(st.floats(0.1, 1)) for _ in range(count)]
    shares = tuple(part / sum(parts) for part in parts)
    flows = [draw(st.floats(0.01, 2)) for _ in range(count - 1)]
    links: list[Link] = [Link(0, 1, flows[0])] if count > 1 else []
    if count > 2:
        links.append(Link(draw(st.sampled_from([0, 1])), 2, flows[1]))
    return Pools(shares, tuple(links), draw(st.booleans()))


def _leg(draw: st.DrawFn, count: int) -> Leg:
    volume = draw(st.floats(10, 60))
    minutes = draw(st.floats(1, 3000))
    change = draw(st.one_of(st.just(0.0), st.floats(-0.3, 0.3), st.floats(-1e-9, 1e-9)))
    clearance = tuple(draw(st.one_of(st.just(0.0), st.floats(1e-4, 0.4))) for _ in range(count))
    return Leg(minutes, volume, change * volume / minutes, clearance)


def _body(draw: st.DrawFn, most: int) -> Body:
    pools = draw(st.composite(_pools)(most))
    return Body(
        pools,
        draw(st.floats(15, 60)),
        draw(st.floats(0.05, 0.5)),
        residual_l_min=draw(st.one_of(st.just(0.0), st.floats(1e-4, 0.005))),
        other_l_min=tuple(draw(st.sampled_from([0.0, 0.001])) for _ in pools.shares),
        gain_l_min=draw(st.floats(0, 2)) / DAY,
    )


def _week(draw: st.DrawFn) -> tuple[Treatment, ...]:
    minutes = draw(st.floats(90, 560))
    clearance = draw(st.floats(0.05, 0.35))
    parts: tuple[Part, ...] = (Part(minutes, clearance),)
    if draw(st.booleans()):
        parts = (
            Part(minutes / 4, 0.0, 0.2, isolated=True),
            Part(minutes / 2, clearance),
            Part(minutes / 4, clearance),
        )
    return tuple(Treatment(start * 60, parts) for start in draw(st.sampled_from(STARTS)))


pools = st.composite(_pools)
legs = st.composite(_leg)
bodies = st.composite(_body)
weeks = st.composite(_week)()
