"""The search: visits states of a night and compares, in each, the program's gate with the second opinion.

What has to hold, in every state and after every try:

- connecting is never open, nor recorded as met, while the second opinion names an open hold;
- no mark of setting up is taken for a step while a step before it hasn't passed;
- nobody unskilled needles or connects;
- from every state in which blood runs, coming off and stopping are one deed away, for anyone;
- what happened after first blood never takes the running night back;
- once off, every step of coming off that the second opinion asks for is asked for, such as the call about blood that
  stayed out, and none besides.
"""

from __future__ import annotations

import random
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import timedelta

from ebbwell.core.errors import EbbwellError
from ebbwell.deeds import comeoff, night, orders, record, setup
from ebbwell.deeds.connect import connect
from ebbwell.deeds.desk import Refused
from ebbwell.procedure.holds import Status
from ebbwell.procedure.load import load_procedure
from ebbwell.procedure.model import Procedure
from ebbwell.sim import hands
from ebbwell.sim.checker.moves import Try, all_tries
from ebbwell.sim.checker.world import World
from ebbwell.sim.homes import HOMES, USUAL_HOME, Home
from ebbwell.sim.household import BRAM, UNIT
from ebbwell.state.night import Phase, first_blood

NEVER_ALLOWED = ("connect by stand-in", "connect by nobody", "stand-in takes a step")


class Counterexample(Exception):
    """A way round. rule: what was broken; path: how it came about."""

    def __init__(self, rule: str, path: tuple[str, ...], detail: str = "") -> None:
        super().__init__(f"{rule}: {detail} after {' > '.join(path[-6:])}")
        self.rule = rule
        self.path = path
        self.detail = detail


@dataclass
class Search:
    """spec_by: the procedure that the second opinion goes by. seen: signatures of the states visited."""

    spec_by: Procedure = field(default_factory=load_procedure)
    seen: set[int] = field(default_factory=set)
    tried: int = 0
    refused: int = 0
    gate_open: int = 0
    came_off: int = 0

    def look(self, world: World, path: tuple[str, ...]) -> bool:
        """Visit a state. True when it is a new one. Raises Counterexample."""
        signature = world.signature()
        if signature in self.seen:
            return False
        self.seen.add(signature)
        if first_blood(world.desk.treatment) is not None:
            self._can_come_off(world, path)
            self._asks_about_blood(world, path)
        elif world.desk.gate_open:
            self.gate_open += 1
            left = world.spec(self.spec_by).open_holds()
            if left:
                raise Counterexample("the gate is open", path, ", ".join(left))
        return True

    def _can_come_off(self, world: World, path: tuple[str, ...]) -> None:
        for deed in (comeoff.come_off, night.stop_now):
            child = world.fork()
            try:
                child.house.do(deed, by="somebody")
            except EbbwellError as why:
                raise Counterexample("coming off is refused", path, str(why)) from why
        self.came_off += 1

    def _asks_about_blood(self, world: World, path: tuple[str, ...]) -> None:
        if not world.desk.treatment.of("came_off"):
            return
        spec = world.spec(self.spec_by)
        for step in self.spec_by.steps:
            if not step.only_if.startswith("blood_"):
                continue
            asked = world.desk.views[step.id].status is not Status.NOT_NEEDED
            if asked != spec.needed(step):
                raise Counterexample("coming off asks otherwise", path, f"{step.id} asked: {asked}")

    def attempt(self, world: World, one: Try, path: tuple[str, ...]) -> World | None:
        """Try something on a copy. Gives the copy when it was done. Raises Counterexample."""
        self.tried += 1
        child = world.fork()
        ran = first_blood(world.desk.treatment) is not None
        if not one.act(child):
            self.refused += 1
            return None
        here = (*path, one.name)
        if one.name in NEVER_ALLOWED and not ran:
            raise Counterexample("someone not signed off", here)
        if ran:
            if first_blood(child.desk.treatment) is None:
                raise Counterexample("a running night was taken back", here)
        elif one.gives and world.desk.phase is Phase.SETTING_UP:
            before = world.spec(self.spec_by)
            shut = [step for step in self.spec_by.step(one.gives).after if not before.passed(step)]
            if shut and not one.name.startswith("second"):
                raise Counterexample("a mark before its turn", here, ", ".join(shut))
        if one.name == "connect" and not ran:
            left = world.spec(self.spec_by).open_holds()
            if left:
                raise Counterexample("connected round a hold", here, ", ".join(left))
        self.look(child, here)
        return child

    def repair(self, world: World, path: tuple[str, ...], most: int = 160) -> None:
        """Let a sure hand go on from a state until the gate opens or nothing helps, looking at every state."""
        for _ in range(most):
            self.look(world, path)
            desk = world.desk
            if desk.gate_open or first_blood(desk.treatment) is not None:
                return
            move = hands.next_move(desk, hands.SET_UP) or _again(world)
            if move is None:
                wait = hands.waits(desk)
                if wait is None:
                    return
                world.clock.pass_time(max(wait, timedelta(seconds=1)))
                world.moved()
                continue
            world.clock.pass_time(move.takes)
            try:
                hands.play(world.house, move)
            except EbbwellError:
                return
            world.moved()
            path = (*path, f"then {move.step}")


def _again(world: World) -> hands.Move | None:
    """What a sure hand does about a step that is barred, or whose clock isn't known: all of it again."""
    desk = world.desk
    for view in desk.views.values():
        if view.step.gate != "connect" or view.status not in (Status.BARRED, Status.NOT_KNOWN):
            continue
        if view.status is Status.NOT_KNOWN and not desk.treatment.at_slot("answer", "clock_right"):
            return hands.Move(setup.answer, {"question": "clock_right", "answer": "yes"}, step=view.step.id)
        if hands.rests(desk, view):
            continue
        wrong = [e for e in view.step.evidence if not _right(world, view.step.id, e)]
        for evidence in wrong:
            return hands.for_evidence(desk, view.step, evidence)
    return None


def _right(world: World, step_id: str, evidence: object) -> bool:
    from ebbwell.procedure.evidence import accepted, find
    from ebbwell.procedure.model import Evidence

    if not isinstance(evidence, Evidence):
        raise TypeError("evidence of a step expected")
    scene = world.desk.scene
    step = scene.procedure.step(step_id)
    facts = [f for f in find(scene, step, evidence) if scene.counts(f)]
    if not facts:
        return False
    timed = step.valid is not None or evidence.length is not None
    move = hands.for_evidence(world.desk, step, evidence)
    usual = move.inputs.get("typed")
    typed = getattr(facts[-1].body, "typed", usual)
    if evidence.form == "measured" and usual is not None and typed != usual:
        return False
    return not accepted(scene, step, evidence, facts[-1]) and (
        not timed or scene.trusted(facts[-1], scene.judged_at(facts[-1]))
    )


def path_of(procedure: Procedure | None = None, home: Home = HOMES[USUAL_HOME]) -> list[World]:
    """The worlds of a night set up without a slip, from just opened to just before connecting."""
    world = World.fresh(procedure, home)
    worlds = [world.fork()]
    for _ in range(400):
        desk = world.desk
        if desk.gate_open:
            return worlds
        move = hands.next_move(desk, hands.SET_UP)
        if move is None:
            wait = hands.waits(desk)
            if wait is not None:
                world.clock.pass_time(max(wait, timedelta(seconds=1)))
            elif not _leave_out(world):
                raise RuntimeError(f"the night gets no further: {[b.step or b.key for b in desk.bars]}")
        else:
            world.clock.pass_time(move.takes)
            _play_or_ask(world, move)
        world.moved()
        worlds.append(world.fork())
    raise RuntimeError("the night doesn't end")


def near_the_gate(
    search: Search, start: World, tries: Iterable[Try], *, repair: bool = True
) -> Iterator[tuple[World, tuple[str, ...]]]:
    """From one state, one thing tried, then put right again. Gives each state that came of it, for going on."""
    search.look(start, ("set up",))
    for one in tries:
        child = search.attempt(start, one, ("set up",))
        if child is None:
            continue
        yield child, ("set up", one.name)
        if repair:
            search.repair(child.fork(), ("set up", one.name))


def _play_or_ask(world: World, move: hands.Move) -> None:
    """Do a move; where the plan has no weight to rest on, ask the unit for its figure, as one would."""
    try:
        hands.play(world.house, move)
    except Refused as why:
        if why.key != "refuse.weigh_first":
            raise
        advice = {"who": UNIT, "words": "take off 2.3 litres", "about": ("S29",), "allows": True}
        hands.play(world.house, hands.Move(orders.advise, advice))
        hands.play(world.house, hands.Move(move.deed, {**move.inputs, "removal_by_unit": "2.3"}))


def _leave_out(world: World) -> bool:
    """Take back what bars a step that may be left out, and leave it out, the unit agreeing."""
    for view in world.desk.views.values():
        if view.status is Status.BARRED and view.step.skip != "never":
            for entry_id in view.by:
                world.house.do(record.withdraw, by=BRAM, of=entry_id, reason="the meter is broken")
            world.house.do(setup.skip, by=BRAM, step=view.step.id, reason="the meter is broken", unit=UNIT)
            return True
    return False


def before_needles(worlds: list[World]) -> World:
    """The last world before the needles go in: from there on, what gets old is still asked for again."""
    return next(world for world in reversed(worlds) if world.desk.scene.needles is None)


def along_the_way(search: Search, worlds: list[World], tries: list[Try], every: int = 1) -> None:
    """From each state of the usual way, one thing tried."""
    for index in range(len(worlds) - 2, -1, -every):
        for one in tries:
            search.attempt(worlds[index], one, (f"move {index}",))


def wander(search: Search, worlds: list[World], tries: list[Try], *, states: int, seed: int) -> None:
    """Random walks of up to six tries from random places on the way, until so many states have been seen."""
    chance = random.Random(seed)
    while len(search.seen) < states:
        index = chance.randrange(len(worlds))
        world = worlds[index]
        path: tuple[str, ...] = (f"move {index}",)
        for _ in range(6):
            one = chance.choice(tries)
            child = search.attempt(world, one, path)
            if child is not None:
                world, path = child, (*path, one.name)


def running(worlds: list[World]) -> World:
    """A world in which blood runs, connected through the gate."""
    world = worlds[-1].fork()
    world.house.do(connect, by=BRAM)
    return world.moved()


def explore(states: int = 100_000, seed: int = 1) -> Search:
    """The whole search on the procedure as shipped, until at least so many distinct states were visited.

    The usual home is looked at from everywhere; the others near the gate; then all of them in turn at random.
    """
    search = Search()
    tries = all_tries(search.spec_by)
    chance = random.Random(seed)
    ways = {name: path_of(None, home) for name, home in HOMES.items()}
    second: list[tuple[World, tuple[str, ...]]] = []
    for name, worlds in ways.items():
        for start in (worlds[-1], before_needles(worlds)):
            second += near_the_gate(search, start, tries, repair=name == USUAL_HOME)
        blood = running(worlds)
        for one in tries:
            search.attempt(blood, one, ("connected",))
    along_the_way(search, ways[USUAL_HOME], tries, every=4)
    chance.shuffle(second)
    half = (len(search.seen) + states) // 2
    for child, path in second:
        if len(search.seen) >= half:
            break
        for one in chance.sample(tries, 60):
            search.attempt(child, one, path)
    every = [world for worlds in ways.values() for world in worlds]
    wander(search, every, tries, states=states, seed=seed)
    return search
