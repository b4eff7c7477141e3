"""Numbers of one person from urea and creatinine together."""

from __future__ import annotations

from math import exp, hypot, log
from random import Random
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import least_squares

from ebbwell.core.errors import DomainError
from ebbwell.science.fit import KNOWN, MonthBloods, Split, expected, fit
from ebbwell.science.fit_several import SeveralFit, clearance_doubt, fit_several
from ebbwell.science.pools import Link, Pools
from ebbwell.science.schedule import Body, Part, Treatment, settled
from ebbwell.science.solutes import CREATININE, UREA, Solute

MADE = {"urea": 0.22, "creatinine": 0.008}
CLEARED = {"urea": 0.185, "creatinine": 0.150}
SOLUTES = {"urea": UREA, "creatinine": CREATININE}


def split_of(solute: Solute, times: float = 1.0) -> Split:
    return Split(solute.figures["outer_share"].value, solute.figures["between_per_min"].value * times)


def month(
    key: str, *, share: float = 0.58, over: float = 1.0, flow: float = 1.0, **noise: float
) -> MonthBloods:
    """The pair that the model makes; noise: factors on before and post."""
    plain = MonthBloods(2.0, 1.0, 66.0, CLEARED[key], 0.9 / 1440, (0.0, 2880.0, 5760.0), 450.0, 10080.0, 1)
    told = expected(plain, share, over, split_of(SOLUTES[key], flow))
    return plain._replace(
        before=MADE[key] * exp(told.before) * noise.get("before", 1.0),
        post=MADE[key] * exp(told.post) * noise.get("post", 1.0),
    )


def test_what_was_put_in_is_found_again() -> None:
    found = fit_several({key: [month(key)] * 2 for key in SOLUTES})
    assert found.water_share.middle == pytest.approx(0.58, rel=1e-6)
    for key, made in MADE.items():
        assert found.clearance_over[key].middle == pytest.approx(1.0, rel=1e-6)
        assert found.generation[key][0].middle == pytest.approx(made, rel=1e-6)
        assert found.residuals[key] == pytest.approx((0.0, 0.0), abs=1e-5)


def test_the_band_of_what_is_made_is_that_of_urea_alone_and_a_little_for_the_flow() -> None:
    months = [month("urea")._replace(weight_kg=66.0 + number) for number in range(3)]
    beside = fit_several({"urea": months}).generation["urea"]
    for ours, alone in zip(beside, fit(months).generation, strict=True):
        wide = log(ours.high / ours.low) / log(alone.high / alone.low)
        assert 1.0 < wide < 1.05


def test_bands_hold_another_person() -> None:
    truth = {"share": 0.52, "flow": 1.2}
    found = fit_several(
        {
            "urea": [month("urea", over=1.05, **truth)] * 3,
            "creatinine": [month("creatinine", over=0.93, **truth)] * 3,
        }
    )
    assert found.water_share.low < 0.52 < found.water_share.high
    assert found.clearance_over["urea"].low < 1.05 < found.clearance_over["urea"].high
    assert found.clearance_over["creatinine"].low < 0.93 < found.clearance_over["creatinine"].high


def width(found: SeveralFit) -> float:
    return log(found.water_share.high / found.water_share.low)


def test_a_second_solute_says_more_of_the_water_than_more_months_of_the_first() -> None:
    urea = fit_several({"urea": [month("urea")] * 6})
    both = fit_several({"urea": [month("urea")] * 3, "creatinine": [month("creatinine")] * 3})
    assert width(both) < width(urea)


def test_the_flow_between_the_pools_widens_what_urea_alone_says() -> None:
    ones = [month("urea")] * 12
    alone, told = fit(ones), fit_several({"urea": ones})
    assert told.water_share.middle == pytest.approx(alone.water_share.middle, rel=1e-4)
    assert width(told) > log(alone.water_share.high / alone.water_share.low)


def residuals(numbers: NDArray[np.float64], pairs: dict[str, list[MonthBloods]]) -> list[float]:
    """The same distances by ``schedule.settled``, which tells a whole week and not its ends alone."""
    found = [(numbers[0] - log(KNOWN.water_share)) / KNOWN.water_doubt]
    for place, (key, months) in enumerate(pairs.items()):
        solute = SOLUTES[key]
        flow = solute.figures["between_per_min"]
        over, between = numbers[1 + 2 * place], numbers[2 + 2 * place]
        found.append(
            over / (KNOWN.clearance_doubt if key == "urea" else hypot(0.1, log(0.86 / 0.67) / 3.2897))
        )
        found.append((between - log(flow.value)) * 2 * 1.6448536269514722 / log(flow.high / flow.low))
        outer = solute.figures["outer_share"].value
        for one in months:
            litres = exp(numbers[0]) * one.weight_kg
            pools = Pools((outer, 1 - outer), (Link(0, 1, exp(between) * litres),))
            body = Body(pools, litres, 1.0, 0.0, (0.0, 0.0), one.gain_l_min)
            part = Part(one.minutes, one.clearance_l_min * exp(over))
            session = settled(
                body, [Treatment(at, (part,)) for at in one.starts_min], one.cycle_min
            ).sessions[one.which]
            apart = log(one.post / one.before) - log(session.end / session.before)
            found.append(apart / (KNOWN.lab_doubt * 2**0.5))
    return found


@pytest.mark.source(
    "arithmetic", detail="SciPy least_squares on the same distances: the place, and the spread there"
)
def test_scipy_finds_the_same_numbers_and_bands() -> None:
    pairs = {
        "urea": [
            month("urea", share=0.54, over=1.1, post=1.04),
            month("urea", share=0.54, over=1.1, before=0.98),
        ],
        "creatinine": [month("creatinine", share=0.54, over=0.95, flow=0.8, post=0.97)],
    }
    found = fit_several(pairs)
    start = [log(KNOWN.water_share)]
    for key in pairs:
        start += [0.0, log(SOLUTES[key].figures["between_per_min"].value)]
    other = least_squares(residuals, start, args=(pairs,), xtol=1e-12, ftol=1e-12, gtol=1e-12)
    middles = [found.water_share]
    for key in pairs:
        middles += [found.clearance_over[key], found.between_per_min[key]]
    assert [log(one.middle) for one in middles] == pytest.approx(list(other.x), abs=1e-5)
    spread = np.sqrt(np.diag(np.linalg.inv(other.jac.T @ other.jac)))
    reach = [log(one.high / one.low) / 2 for one in middles]
    assert reach == pytest.approx(list(1.6448536269514722 * spread), rel=1e-3)


@pytest.mark.source(
    "arithmetic", detail="nine in ten: of 100 people 80 to 98, but for one chance in several hundred"
)
def test_bands_hold_the_truth_of_nine_in_ten_made_up_people() -> None:
    held = {"water": 0, "urea": 0, "creatinine": 0}
    people = 100
    for seed in range(people):
        chance = Random(f"several {seed}")
        share = KNOWN.water_share * exp(chance.gauss(0, KNOWN.water_doubt))
        over = {key: exp(chance.gauss(0, clearance_doubt(SOLUTES[key]))) for key in SOLUTES}
        pairs: dict[str, list[MonthBloods]] = {}
        for key in SOLUTES:
            figure = SOLUTES[key].figures["between_per_min"]
            flow = exp(chance.gauss(0, log(figure.high / figure.low) / (2 * 1.6448536269514722)))
            pairs[key] = [
                month(
                    key,
                    share=share,
                    over=over[key],
                    flow=flow,
                    before=exp(chance.gauss(0, KNOWN.lab_doubt)),
                    post=exp(chance.gauss(0, KNOWN.lab_doubt)),
                )
                for _ in range(3)
            ]
        found = fit_several(pairs)
        held["water"] += found.water_share.low <= share <= found.water_share.high
        for key in SOLUTES:
            band = found.clearance_over[key]
            held[key] += band.low <= over[key] <= band.high
    assert all(80 <= count <= 98 for count in held.values()), held


@pytest.mark.parametrize(
    ("pairs", "key"),
    [
        ({}, "science.no_bloods"),
        ({"urea": []}, "science.no_bloods"),
        ({"phosphate": [month("urea")]}, "science.no_bloods"),
        ({"urea": [month("urea")._replace(post=99.0)]}, "science.bloods_not_falling"),
        ({"urea": [month("urea")._replace(before=float("nan"))]}, "science.bloods_not_above_zero"),
        ({"creatinine": [month("creatinine")._replace(weight_kg=0.0)]}, "science.bloods_not_above_zero"),
    ],
)
def test_what_cannot_be_is_refused(pairs: dict[str, Any], key: str) -> None:
    with pytest.raises(DomainError) as told:
        fit_several(pairs)
    assert told.value.key == key
