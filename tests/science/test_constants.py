"""A sourced figure that changes by 1 % must break a check against a figure from outside."""

from __future__ import annotations

import pytest

from tests.external import test_water_lists
from tests.external.test_water_lists import LISTS
from tests.one_per_cent import ROWS, Moved, figures, rows_off

EACH = [pytest.param(figure, id=figure.name) for figure in figures()]


def test_all_rows_agree_as_they_stand() -> None:
    assert not rows_off()
    assert not test_water_lists.differing(LISTS)
    assert len(ROWS) >= 160
    assert len(EACH) >= 290


@pytest.mark.parametrize("figure", EACH)
def test_a_figure_off_by_one_per_cent_is_found(figure: Moved) -> None:
    assert figure.noticed()
    assert not rows_off(), "it was put back"
