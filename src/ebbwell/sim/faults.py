"""Everything that goes wrong on a fault night, by name. Each fault is done to a carer; it gives whether it happened."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from datetime import timedelta
from typing import Any

from ebbwell.core.errors import EbbwellError
from ebbwell.core.ids import SeededIds
from ebbwell.deeds import comeoff, connect, night, orders, people, record, setup
from ebbwell.deeds.desk import Asked
from ebbwell.house import House
from ebbwell.journal.errors import RecordError
from ebbwell.journal.kinds.marks import Measured
from ebbwell.journal.store.memory import MemoryStore
from ebbwell.sim import hands
from ebbwell.sim.carer import Carer, WatchedHouse
from ebbwell.sim.household import BRAM, READING, TOVE, UNIT, USUAL
from ebbwell.sim.machines import a_mark, a_word, machine_faults, with_key
from ebbwell.sim.oracle import Broken
from ebbwell.sim.slips import SLIPS
from ebbwell.sim.tries import TRIES, Fault, trying


def slip(name: str) -> Fault:
    """A value typed with one slip; questions are answered "as typed" half of the time."""

    def fault(carer: Carer) -> bool:
        desk = carer.house.look(by=BRAM)
        chance = carer.chance
        quantity = chance.choice(sorted(READING))
        deed: Callable[..., None] = night.read
        meant = READING[quantity]
        inputs: dict[str, Any] = {"values": {**READING, quantity: SLIPS[name](meant, chance)}}
        open_ones = [
            (view.step, evidence)
            for view in desk.views.values()
            for evidence in view.missing
            if evidence.form == "measured" and not view.waits_for and hands.SET_UP & {view.step.stage}
        ]
        if open_ones and chance.random() < 0.8:
            step, evidence = open_ones[0]
            move = hands.for_evidence(desk, step, evidence)
            deed, inputs = move.deed, {**move.inputs, "typed": SLIPS[name](move.inputs["typed"], chance)}
        if desk.treatment_id is None:
            deed, inputs = orders.advise, {"who": "", "words": SLIPS[name]("12.5", chance)}
        if chance.random() < 0.5:
            carer.attempt(deed, **inputs)
        else:
            try:
                carer.house.do(deed, by=BRAM, **inputs)
            except Asked as asked:
                carer.say(f"asked, and typed again: {asked}")
            except RecordError:
                raise
            except EbbwellError as why:
                carer.say(f"{name}: {why.key}")
        return True

    return fault


def forgotten(carer: Carer) -> bool:
    """A step is passed over, and the next one is done."""
    carer.place += 1
    carer.forward(1)
    return True


def wrong_order(carer: Carer) -> bool:
    """A move from later in the night, far before its turn."""
    _, move = carer.chance.choice(carer.script[carer.place :] or carer.script)
    carer.attempt(move.deed, **move.inputs)
    return True


def too_early(carer: Carer) -> bool:
    """Connecting is tried, whatever is open."""
    carer.attempt(connect.connect)
    return True


def taps(carer: Carer) -> bool:
    """The same button two to five times; the first counts, the others change nothing."""
    key = carer.ids.new()
    move = a_mark(carer.house.look(by=BRAM), carer)
    times = carer.chance.randint(2, 5)
    try:
        done = [with_key(carer.house, move, BRAM, key) for _ in range(times)]
    except RecordError:
        raise
    except EbbwellError as why:
        carer.say(f"{times} taps: {why.key}")
        return False
    if done[0].repeated or not all(again.repeated for again in done[1:]):
        raise Broken("a second tap was taken for a first")
    if carer.house.store.held(key) is None:
        raise Broken("the one-time key isn't the entry's id")
    carer.say(f"{times} taps: {move.deed.__name__}")
    return True


def taps_at_once(carer: Carer) -> bool:
    """The same button in two programs at the same moment: one writes, the other is told so."""
    key = carer.ids.new()
    move = a_mark(carer.house.look(by=BRAM), carer)
    other = carer.open()
    both: list[WatchedHouse] = [carer.house, other]
    done: list[Any] = []

    def tap(house: WatchedHouse) -> None:
        try:
            done.append(with_key(house, move, BRAM, key))
        except EbbwellError as why:
            done.append(why)

    for house in both:
        house.alone = False
    threads = [threading.Thread(target=tap, args=(house,)) for house in both]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    carer.house.alone = True
    other.store.close()
    wrote = [d for d in done if not isinstance(d, EbbwellError) and not d.repeated]
    told = [d for d in done if not isinstance(d, EbbwellError) and d.repeated]
    refused = sorted(str(d) for d in done if isinstance(d, EbbwellError))
    carer.say(f"taps at once: {len(wrote)} wrote, {len(told)} told, {refused}")
    if (
        len(done) != 2
        or len(wrote) > 1
        or (len(wrote) + len(told)) == 1
        or any("StoreBusy" in r for r in refused)
    ):
        raise Broken(f"two taps at once: {len(wrote)} wrote, {len(told)} told, {refused}")
    return bool(wrote)


def correction(carer: Carer) -> bool:
    """An entry is put right: a value measured, or its time."""
    desk = carer.house.look(by=BRAM)
    facts = [f for f in desk.treatment.of("measured") if isinstance(f.body, Measured) and f.body.value]
    if not facts:
        return False
    fact = carer.chance.choice(facts)
    name = getattr(fact.body, "quantity", "")
    place = getattr(fact.body, "place", "")
    right = USUAL.get(f"{name}@{place}" if place else name, getattr(fact.body, "value", ""))
    typed = carer.chance.choice((right, "0.13", "140", "-3", "x"))
    changes = {"value": typed}
    if carer.chance.random() < 0.2:
        changes = {"at": (desk.now.at - timedelta(minutes=carer.chance.randint(1, 300))).isoformat()}
    return not carer.attempt(record.correct, of=fact.id, changes=changes, reason="a slip")


def stale_second_device(carer: Carer) -> bool:
    """A second device looks, the first one acts, then the second acts on what it saw."""
    other = carer.open()
    try:
        desk = other.look(by=BRAM)
        seen = hands.next_move(desk, hands.SET_UP) or a_word()
        carer.forward(carer.chance.randint(1, 3))
        carer.clock.pass_time(seen.takes)
        for house in (other, carer.house):
            try:
                hands.play(house, seen, by=carer.chance.choice((BRAM, TOVE)))
            except RecordError:
                raise
            except EbbwellError as why:
                carer.say(f"second device: {why.key}")
            else:
                carer.say(f"second device: {seen.deed.__name__}")
    finally:
        other.close()
    return True


def two_programs(carer: Carer) -> bool:
    """Two programs on one store, turn by turn."""
    mine, other = carer.house, carer.open()
    try:
        for turn in range(carer.chance.randint(2, 5)):
            carer.house = (mine, other)[turn % 2]
            carer.right_move()
    finally:
        carer.house = mine
        other.close()
    return True


def other_store(carer: Carer) -> bool:
    """Another store of the household takes our entries in, acts, and its entries come back to us, perhaps twice."""
    mine = carer.house
    ids = SeededIds(carer.chance.randrange(1 << 30), 1_750_000_000_000 + carer.chance.randrange(1 << 30))
    away = House(MemoryStore(ids), carer.clock, ids, household=mine.household)
    away.take_in(mine.store.after(0))
    before = away.store.last_row()
    desk = away.look(by=BRAM)
    moves = [a_word(), hands.Move(night.note_event, {"what": "alarm"})]
    if carer.chance.random() < 0.15:
        moves.append(hands.Move(people.take_over_here, {"words": "the tablet died"}))
        moves.append(hands.Move(setup.answer, {"question": "clock_right", "answer": "yes"}))
    wanted = carer.chance.sample(moves, carer.chance.randint(1, len(moves)))
    for move in wanted:
        try:
            hands.play(away, move)
        except EbbwellError as why:
            carer.say(f"other store: {why.key}")
    new = list(away.store.after(before))
    held = mine.store.count()
    for _ in range(carer.chance.randint(1, 3)):
        mine.take_in(new)
    if mine.store.count() != held + len(new):
        raise Broken("entries taken in twice were kept twice")
    carer.say(f"merge: {len(new)} from another store, {desk.phase.value}")
    return bool(new)


def anywhere(deed: Callable[..., None], **inputs: Any) -> Fault:
    """A deed that is open from anywhere, by anyone: it must be taken."""

    def fault(carer: Carer) -> bool:
        why = carer.attempt(deed, by="somebody", **inputs)
        if why:
            raise Broken(f"{deed.__name__} is refused: {why}")
        return True

    return fault


def _running_only(fault: Fault) -> Fault:
    return lambda carer: carer.running() and fault(carer)


def left_out(carer: Carer) -> bool:
    """A step that may be left out is, with the reason and the unit's name."""
    desk = carer.house.look(by=BRAM)
    ones = [v.step.id for v in desk.views.values() if v.step.skip != "never" and not v.waits_for]
    if not ones:
        return False
    return not carer.attempt(setup.skip, step=carer.chance.choice(ones), reason="none to be had", unit=UNIT)


def beside_the_steps(carer: Carer) -> bool:
    """All is set up, then two people say different things of what no step asks for: the clock, or blood sugar."""
    carer.forward(len(carer.script))
    carer.set_up(40)
    said: tuple[Callable[..., None], dict[str, str], dict[str, str]] = carer.chance.choice(
        (
            (
                setup.answer,
                {"question": "clock_right", "answer": "yes"},
                {"question": "clock_right", "answer": "no"},
            ),
            (
                setup.measure,
                {"quantity": "glucose", "typed": "5.5 mmol/L"},
                {"quantity": "glucose", "typed": "9.1 mmol/L"},
            ),
        )
    )
    deed, one, other = said
    first = carer.attempt(deed, by=BRAM, **one)
    return not carer.attempt(deed, by=TOVE, **other) and not first


def read_differently(carer: Carer) -> bool:
    """Up to the next second reading, which then finds another value; the carer goes on as if it had agreed."""
    moves = [move for _, move in carer.script[carer.place :]]
    ahead = next((i for i, move in enumerate(moves) if move.deed.__name__ == "second_check"), None)
    if ahead is None:
        return False
    carer.forward(ahead)
    if carer.place >= len(carer.script):
        return False
    wait, move = carer.script[carer.place]
    if move.deed.__name__ != "second_check":
        return False
    carer.place += 1
    carer.clock.pass_time(wait)
    values = dict.fromkeys(move.inputs["values"], "9.9")
    return not carer.attempt(move.deed, **{**move.inputs, "values": values})


def order_read_differently(carer: Carer) -> bool:
    """A line changed by phone, whose second check finds another value."""
    desk = carer.house.look(by=BRAM)
    if desk.scene.order is None or "removal_cap" not in desk.scene.order.lines:
        return False
    if carer.attempt(orders.amend_line, line="removal_cap", value="6", giver=UNIT, read_back="6"):
        return False
    order = carer.house.look(by=BRAM).scene.order
    if order is None or not order.waiting:
        return False
    carer.clock.pass_time(timedelta(seconds=30))
    values = {"removal_cap": "9"}
    return not carer.attempt(orders.check_order, of=order.waiting[-1], values=values, how="reread")


def erased(carer: Carer) -> bool:
    """Words are written down and lawfully erased; they are in no file from then on, and all else stays."""
    words = f"words-{carer.chance.randrange(1 << 40)}-that-go"
    done = carer.house.do(orders.advise, by=BRAM, who=UNIT, words=words)
    carer.house.erase(
        done.entries[0], ground="asked for by the person", authority="the data officer", by=BRAM
    )
    for file in carer.folder.iterdir():
        if file.is_file() and words.encode() in file.read_bytes():
            raise Broken(f"erased words are still in {file.name}")
    carer.say("words erased")
    return True


def all_faults() -> Iterator[tuple[str, Fault]]:
    """Every kind of fault by name, in a fixed order."""
    for name in SLIPS:
        yield f"slip: {name}", slip(name)
    yield "forgotten step", forgotten
    yield "wrong order", wrong_order
    yield "connect too early", too_early
    yield "taps", taps
    yield "taps at once", taps_at_once
    yield "correction", correction
    yield "stale second device", stale_second_device
    yield "two programs", two_programs
    yield "merge", other_store
    yield "words erased", erased
    yield "step left out", left_out
    yield "second reading finds another value", read_differently
    yield "disagreement beside the steps", beside_the_steps
    yield "order's second check finds another value", order_read_differently
    yield from machine_faults()
    yield "stop now", anywhere(night.stop_now)
    yield "person says stop", anywhere(night.stop_now, said_by="dialysis")
    yield "found running", anywhere(connect.already_running)
    yield "came off", anywhere(comeoff.come_off)
    yield "off and on", _running_only(off_and_on)
    for kind in sorted(set(TRIES.values())):
        yield kind, trying(kind)


def off_and_on(carer: Carer) -> bool:
    """Off for a while and on again, perhaps with a new set."""
    done = not carer.attempt(night.go_off, words="to the bathroom")
    carer.clock.pass_time(timedelta(minutes=carer.chance.randint(1, 40)))
    if carer.chance.random() < 0.3:
        carer.attempt(night.change_set, words="clotted")
    return not carer.attempt(night.go_on) and done


FAULTS: dict[str, Fault] = dict(all_faults())
ENDING = frozenset(
    {
        "stop now",
        "person says stop",
        "found running",
        "came off",
        "called off",
        "held elsewhere",
        "a kind not known",
        "taken over here",
    }
)
"""Faults after which a set-up can't go on; rarer, so that nights get further."""
