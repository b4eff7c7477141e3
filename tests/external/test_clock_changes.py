"""Elapsed time over a change of clocks, against a public suite of cases (New York, 2010)."""

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from ebbwell.core.clock import elapsed

NEW_YORK = ZoneInfo("America/New_York")
SUITE = "tests written for a language's proposal on date, time and daylight saving (New York, 2010)"
HOUR = timedelta(hours=1)

CASES = (
    ("examples:E18.1", "2010-03-13 04:30:00 -0500", "2010-03-14 04:30:00 -0400", 23 * HOUR),
    ("examples:E18.2", "2010-03-13 04:30:00 -0500", "2010-03-14 03:30:00 -0400", 22 * HOUR),
    ("examples:E18.3", "2010-03-13 02:30:00 -0500", "2010-03-14 03:30:00 -0400", 24 * HOUR),
    ("examples:E18.4", "2010-03-14 01:59:59 -0500", "2010-03-14 03:00:00 -0400", timedelta(seconds=1)),
    ("examples:E18.5", "2010-11-06 04:30:00 -0400", "2010-11-07 04:30:00 -0500", 25 * HOUR),
    ("examples:E18.6", "2010-11-06 04:30:00 -0400", "2010-11-07 01:30:00 -0500", 22 * HOUR),
    ("examples:E18.7", "2010-11-06 04:30:00 -0400", "2010-11-07 01:30:00 -0400", 21 * HOUR),
    ("examples:E18.8", "2010-11-06 01:30:00 -0400", "2010-11-07 01:30:00 -0500", 25 * HOUR),
    ("examples:E18.9", "2010-11-07 01:59:59 -0400", "2010-11-07 01:00:00 -0500", timedelta(seconds=1)),
)


@pytest.mark.parametrize(
    ("start", "end", "hours"),
    [pytest.param(*case[1:], id=case[0], marks=pytest.mark.source(case[0], detail=SUITE)) for case in CASES],
)
def test_elapsed(start: str, end: str, hours: timedelta) -> None:
    first = datetime.strptime(start, "%Y-%m-%d %H:%M:%S %z")
    last = datetime.strptime(end, "%Y-%m-%d %H:%M:%S %z")
    assert elapsed(first, last) == hours
    assert elapsed(first.astimezone(NEW_YORK), last.astimezone(NEW_YORK)) == hours
