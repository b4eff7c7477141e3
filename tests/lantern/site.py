"""The pages of the second household, without a browser."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

from ebbwell.deeds import comeoff
from ebbwell.deeds.connect import connect
from ebbwell.deeds.desk import Done
from ebbwell.sim import hands, lantern
from tests.lantern.evening import START, go_on
from tests.web.site import Site


class LanternSite(Site):
    """Lantern Yard at its screen; the carer is there."""

    def __init__(self) -> None:
        super().__init__(at=START, zone=lantern.ZONE)
        self.who = lantern.CARER

    def do(self, deed: Callable[..., None], by: str = lantern.CARER, **inputs: Any) -> Done:
        """A deed of the household, behind the pages' back."""
        return super().do(deed, by=by, **inputs)

    def move_in(self) -> None:
        """The household, its people, steps, units and order."""
        self.act(lambda house: lantern.move_in(house, self.clock))

    def set_up(self) -> None:
        """An evening set up until nothing keeps connecting shut."""
        self.open_night()
        self.act(lambda house: hands.set_up(house, self.clock, by=lantern.CARER, values=lantern.VALUES))

    def connect(self) -> None:
        """An evening with blood running and its first readings."""
        self.set_up()
        self.do(connect)
        self.act(lambda house: go_on(house, self.clock, frozenset({"settle"})))

    def close_sheet(self) -> None:
        """The evening over and its sheet closed."""
        self.connect()
        self.clock.pass_time(timedelta(minutes=200))
        self.act(lambda house: go_on(house, self.clock, frozenset({"come_off"})))
        self.do(comeoff.person_safe)
        self.act(lambda house: go_on(house, self.clock, frozenset({"after"})))
        self.do(comeoff.close)
