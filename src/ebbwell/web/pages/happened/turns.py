"""The turns of a night: off and on again, a new set with its packs, samples; and looking again for each."""

from __future__ import annotations

from collections.abc import Iterable

from starlette.responses import Response

from ebbwell.core.errors import InputError
from ebbwell.core.text import say
from ebbwell.core.typed_times import label_date
from ebbwell.deeds.again import CheckView, check_again, checks_again
from ebbwell.deeds.night import change_set, go_off, go_on
from ebbwell.deeds.samples import ask_for_samples, take_sample
from ebbwell.deeds.setup import use_lot
from ebbwell.journal.kinds.bedside import SAMPLE_HOW, SAMPLE_WHEN, SampleDue
from ebbwell.journal.kinds.night import BLOOD, BLOOD_WHILE_OFF, WHY_NEW_SET
from ebbwell.papers.spoken import error_words
from ebbwell.papers.words import item_words
from ebbwell.procedure.asides import ASIDES
from ebbwell.web.pages.happened.asks import Ask, ShortForm, Typed, picks, when, words_of
from ebbwell.web.visit import Trouble, Visit

PACKS = ("dialyser", "tubing", "saline", "needles", "heparin")
"""Packs that a new set opens."""


def _off_asks(_: Visit) -> tuple[Ask, ...]:
    return (
        Ask("blood", "pick", say("web.happened.off.blood"), picks("web.happened.off.blood", BLOOD_WHILE_OFF)),
        words_of(),
        when(),
    )


def _off(visit: Visit, typed: Typed) -> str | None:
    done = visit.do(
        go_off,
        key=visit.typed.get("key"),
        words=typed.text("words"),
        blood=typed.text("blood"),
        at=typed.at(),
    )
    return "/happened/again/on_again" if done else None


def _on_asks(_: Visit) -> tuple[Ask, ...]:
    return (words_of(), when())


def _left(visit: Visit) -> Iterable[str]:
    left = [v for v in checks_again(visit.desk, "on_again") if not v.option]
    return [say("web.happened.on.left", count=len(left))] if left else []


def _on(visit: Visit, typed: Typed) -> str | None:
    done = visit.do(go_on, key=visit.typed.get("key"), words=typed.text("words"), at=typed.at())
    return f"/happened/kept/{done.entries[0]}" if done else None


def _set_asks(_: Visit) -> tuple[Ask, ...]:
    return (
        Ask("why", "pick", say("web.happened.set.why"), picks("why_new_set", WHY_NEW_SET)),
        Ask("blood", "pick", say("web.happened.set.blood"), picks("blood", BLOOD)),
        words_of(),
        when(),
    )


def _set(visit: Visit, typed: Typed) -> str | None:
    done = visit.do(
        change_set,
        key=visit.typed.get("key"),
        words=typed.text("words"),
        why=typed.text("why"),
        blood_returned=typed.text("blood"),
        at=typed.at(),
    )
    return "/happened/again/new_set" if done else None


def _pack_asks(_: Visit) -> tuple[Ask, ...]:
    return (
        Ask(
            "item",
            "pick",
            say("web.happened.packs.item"),
            tuple((item, item_words(item)) for item in PACKS),
            need="web.happened.packs.need",
        ),
        Ask("code", "line", say("web.happened.packs.code")),
        Ask("lot", "line", say("web.happened.packs.lot")),
        Ask("expiry", "line", say("web.happened.packs.expiry"), how=say("web.happened.packs.expiry_how")),
        Ask(
            "intact",
            "pick",
            say("web.happened.packs.intact"),
            picks("web.happened.yes_no", ("yes", "no")),
            need="web.happened.packs.need_intact",
        ),
    )


def _pack(visit: Visit, typed: Typed) -> str | None:
    sets = visit.desk.treatment.of("new_set")
    try:
        expiry = label_date(typed.text("expiry")) if typed.text("expiry") else ""
    except InputError as why:
        visit.troubles.append(Trouble(error_words(why), "expiry"))
        return None
    done = visit.do(
        use_lot,
        field="item",
        key=visit.typed.get("key"),
        item=typed.text("item"),
        code=typed.text("code"),
        lot=typed.text("lot"),
        expiry=expiry,
        intact=typed.text("intact") == "yes",
        new_set=sets[-1].id if sets else "none",
    )
    return f"/happened/kept/{done.entries[0]}" if done else None


def _due(visit: Visit) -> list[tuple[str, str, str]]:
    """Entry, sample and when of each sample asked for and not drawn yet."""
    drawn = {
        (getattr(f.body, "of", ""), getattr(f.body, "sample", ""))
        for f in visit.desk.treatment.of("sample_taken")
    }
    return [
        (f.id, sample, f.body.when)
        for f in visit.desk.treatment.of("sample_due")
        if isinstance(f.body, SampleDue)
        for sample in f.body.samples
        if (f.id, sample) not in drawn
    ]


def _sample_asks(visit: Visit) -> tuple[Ask, ...]:
    due = tuple(
        (f"{of}|{sample}|{at}", f"{sample}, {say(f'web.happened.sample.when.{at}')}")
        for of, sample, at in _due(visit)
    )
    other = ("", say("web.happened.sample.other"))
    return (
        Ask("due", "pick", say("web.happened.sample.due"), (*due, other)),
        Ask("sample", "line", say("web.happened.sample.name"), how=say("web.happened.sample.name_how")),
        Ask("when", "pick", say("web.happened.sample.when"), picks("web.happened.sample.when", SAMPLE_WHEN)),
        Ask("label", "line", say("web.happened.sample.label")),
        Ask(
            "how",
            "pick",
            say("web.happened.sample.taken"),
            picks("web.happened.sample.how_drawn", SAMPLE_HOW),
        ),
        words_of(),
        when(),
    )


def _sample(visit: Visit, typed: Typed) -> str | None:
    of, _, rest = typed.text("due").partition("|")
    sample, _, at = rest.rpartition("|")
    done = visit.do(
        take_sample,
        field="sample",
        key=visit.typed.get("key"),
        sample=sample or typed.text("sample"),
        when=at or typed.text("when"),
        of=of,
        label=typed.text("label"),
        how=typed.text("how"),
        words=typed.text("words"),
        at=typed.at(),
    )
    return f"/happened/kept/{done.entries[0]}" if done else None


def _samples_asks(_: Visit) -> tuple[Ask, ...]:
    return (
        Ask("names", "words", say("web.happened.samples.names"), need="enter.samples"),
        Ask(
            "when",
            "pick",
            say("web.happened.sample.when"),
            picks("web.happened.sample.when", SAMPLE_WHEN),
            need="web.happened.samples.need",
        ),
        Ask("ordered_by", "line", say("web.happened.samples.by")),
    )


def _samples(visit: Visit, typed: Typed) -> str | None:
    names = tuple(line.strip() for line in typed.text("names").splitlines() if line.strip())
    done = visit.do(
        ask_for_samples,
        field="names",
        key=visit.typed.get("key"),
        samples=names,
        when=typed.text("when"),
        ordered_by=typed.text("ordered_by"),
    )
    return f"/happened/kept/{done.entries[0]}" if done else None


TURNS = (
    ShortForm("off", _off_asks, _off),
    ShortForm("on", _on_asks, _on, _left),
    ShortForm("set", _set_asks, _set),
    ShortForm("packs", _pack_asks, _pack),
    ShortForm("samples", _samples_asks, _samples),
    ShortForm("sample", _sample_asks, _sample),
)


def show_again(visit: Visit) -> Response:
    """What is looked at again before going on, or with a new set. It shuts nothing."""
    aside = visit.path["aside"]
    if aside not in ASIDES:
        return visit.go("/happened")
    views: tuple[CheckView, ...] = checks_again(visit.desk, aside)
    return visit.show("pages/happened/again.html", aside=aside, views=views, typed=visit.typed)


def take_again(visit: Visit) -> Response:
    """Keep each word that was picked."""
    aside = visit.path["aside"]
    if aside not in ASIDES:
        return visit.go("/happened")
    kept = 0
    for view in checks_again(visit.desk, aside):
        name = view.check.id
        option = visit.typed.get(name, "")
        if option:
            kept += bool(
                visit.do(
                    check_again,
                    field=name,
                    key=visit.typed.get(f"key.{name}"),
                    aside=aside,
                    check=name,
                    option=option,
                )
            )
    if not kept and not visit.troubles:
        visit.troubles.append(Trouble(say("web.happened.again.nothing")))
    return (
        show_again(visit) if visit.troubles else visit.go(f"/happened/again/{aside}", kept=f"again-{aside}")
    )
