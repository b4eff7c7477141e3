"""A program that answers the door of one household and is killed in mid-night; run by the test of hazard H20.

Arguments: the store's path. Prints the id of each entry once its deed has returned, then kills itself.
"""

from __future__ import annotations

import os
import signal
import sys
from pathlib import Path

from ebbwell.core.clock import SetClock
from ebbwell.core.ids import SeededIds
from ebbwell.deeds.people import enter_person
from ebbwell.house import House
from ebbwell.sim.household import BRAM, ZONE
from tests.hazards.home import EVENING
from tests.hazards.switches import switch_off_from_environment


def main() -> None:
    """Write entries, say so, and go without a goodbye."""
    switch_off_from_environment()
    house = House.open(Path(sys.argv[1]), SetClock(EVENING, ZONE), SeededIds(20))
    for number in range(20):
        done = house.do(enter_person, by=BRAM, person=f"person{number}", name="Ola Reed", roles=("carer",))
        print(done.entries[0], flush=True)
    os.kill(os.getpid(), signal.SIGKILL)


if __name__ == "__main__":
    main()
