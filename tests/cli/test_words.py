"""Every wording key that the program uses is in the catalogue, filled with the params that its words ask for."""

from __future__ import annotations

import ast
import re
import string
from pathlib import Path

from ebbwell.core.text import _catalogue, has_text, say
from ebbwell.deeds.people import ROLES, SKILLS
from ebbwell.deeds.upkeep import AGENTS
from ebbwell.journal.kinds import known_kinds
from ebbwell.journal.kinds.bedside import SAMPLE_HOW, SAMPLE_WHEN, WHY_BY_HAND
from ebbwell.journal.kinds.house import SITUATIONS
from ebbwell.journal.kinds.night import BLOOD, BLOOD_WHILE_OFF, SYMPTOMS, WHY_NEW_SET
from ebbwell.papers.sheet_plan import PLANNED
from ebbwell.papers.words import figure_words
from ebbwell.procedure.asides import ASIDES, asides
from ebbwell.procedure.holds import Status
from ebbwell.procedure.load import load_procedure
from ebbwell.procedure.model import ITEMS, REOPENERS, SETTINGS, WHENS
from ebbwell.rulebook.load import load_rulebook
from ebbwell.state.night import Phase

SRC = Path(__file__).parents[2] / "src/ebbwell"
SAYS = {"say", "said", "plain_words"}
RAISES = {"Refused", "InputError", "refuse", "Bar", "Interrupted", "NoTreatment", "PassphrasesDiffer"}


def literal_keys() -> dict[str, str]:
    """Key to the file that names it: every literal first argument of a call that says, refuses or raises."""
    found: dict[str, str] = {}
    for path in sorted(SRC.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call) or not node.args:
                continue
            name = getattr(node.func, "id", getattr(node.func, "attr", ""))
            if name in SAYS or name in RAISES:
                for key in _literals(node.args[0]):
                    found[key] = path.name
    return found


def _literals(node: ast.expr) -> list[str]:
    if isinstance(node, ast.Constant) and isinstance(node.value, str) and "." in node.value:
        return [node.value]
    if isinstance(node, ast.IfExp):
        return _literals(node.body) + _literals(node.orelse)
    return []


def test_every_literal_key_has_words() -> None:
    keys = literal_keys()
    assert len(keys) > 300
    assert {k: v for k, v in keys.items() if not has_text(k)} == {}


def families() -> list[str]:
    """Keys that are put together from a list of words at run time."""
    procedure, book = load_procedure(), load_rulebook()
    keys = [f"phase.{p.value}" for p in Phase] + [f"tonight.next.{p.value}" for p in RUN_THROUGH]
    keys += [f"status.{s.value}" for s in Status]
    keys += [f"agent.{a}" for a in AGENTS] + [f"role.{r}" for r in ROLES] + [f"skill.{s}" for s in SKILLS]
    keys += [f"item.{i}" for i in ITEMS] + [f"setting.{s}" for s in SETTINGS] + [f"when.{w}" for w in WHENS]
    keys += [f"reopens.{r}" for r in REOPENERS] + [f"month.{n}" for n in range(1, 13)]
    keys += [f"how.{h}" for h in ("person", "reread", "photo", "scan", "blind")]
    keys += [f"blood.{b}" for b in BLOOD]
    keys += [f"said.handed_{s}" for s in ("offered", "accepted", "store")]
    keys += [f"walk.six_{n}" for n in range(1, 7)] + [f"walk.plan_{n}" for n in ("drink", "saline", "losses")]
    keys += [f"walk.lot_{n}" for n in ("code", "lot", "expiry")]
    keys += [f"walk.{n}" for n in ("reading", "given", "off", "on", "new_set", "come_off", "why", "how")]
    keys += [f"cli.self.{s}" for s in ("ok", "bad", "not_known")]
    keys += [f"sheet.time.{t}" for t in ("opened", "first_blood", "pump_stopped", "safe", "closed")]
    keys += [f"symptom.{s}" for s in SYMPTOMS] + [f"situation.{s}" for s in SITUATIONS]
    keys += [f"why_new_set.{w}" for w in WHY_NEW_SET] + [f"why_by_hand.{w}" for w in WHY_BY_HAND]
    keys += [f"sample_when.{w}" for w in SAMPLE_WHEN] + [f"sample_how.{w}" for w in SAMPLE_HOW]
    keys += [f"sample.how.{w}" for w in SAMPLE_WHEN]
    keys += [f"said.off_{b}" for b in BLOOD_WHILE_OFF] + [f"said.again_{a}" for a in ASIDES]
    keys += [f"again.{c.id}" for checks in asides().values() for c in checks]
    keys += [f"again.option.{o}" for checks in asides().values() for c in checks for o in c.options]
    keys += [f"refuse.not_begun.{a}" for a in ASIDES]
    keys += [f"said.reminders_{s}" for s in ("on", "off", "silent")]
    keys += [f"method.{w}" for f in book.facts() if f.id == "total_chlorine_method" for w in f.words]
    for quantity in book.quantities():
        keys += [f"quantity.{quantity.id}", f"sheet.short.{quantity.id}"]
        keys += [f"place.{place}" for place in quantity.at]
        keys += [f"option.{quantity.id}.{word}" for word in quantity.words]
    for line in book.lines():
        keys += [f"line.{line.id}", *(f"option.{line.id}.{o}" for o in line.options)]
    for step in procedure.steps:
        keys += [f"step.{step.id}.{part}" for part in ("do", "why", "how")] + [f"block.{step.block}"]
        for evidence in step.evidence:
            if evidence.form in ("answer", "choice"):
                keys.append(f"{'ask' if evidence.form == 'answer' else 'choice'}.{evidence.name}")
                keys += [f"option.{evidence.name}.{o}" for o in step.options[evidence.name]]
            if evidence.form == "given":
                keys.append(f"given.{evidence.name}")
    return sorted(set(keys))


RUN_THROUGH = (Phase.SETTING_UP, Phase.RUNNING, Phase.PAUSED, Phase.STOPPING, Phase.OFF, Phase.SAFE)


def test_every_key_of_a_family_has_words() -> None:
    keys = families()
    assert len(keys) > 600
    assert [key for key in keys if not has_text(key)] == []


def test_every_figure_of_the_plan_on_the_sheet_has_words() -> None:
    assert [name for name in PLANNED if figure_words(name) == name] == []


def test_every_kind_can_be_described() -> None:
    from ebbwell.journal.kinds.house import HandedOver, Skill
    from ebbwell.papers.describe import _FIXED, _SAYS

    told = {cls.KIND for cls in (*_SAYS, *_FIXED, Skill, HandedOver)}
    assert told == set(known_kinds())


def test_words_for_people_keep_to_the_rules() -> None:
    catalogue = _catalogue("en")._catalog  # type: ignore[attr-defined]
    bad = re.compile(r"\b(please|sorry|oops|invalid|may wish|all clear)\b|\bOK\b|safe to\b", re.IGNORECASE)
    own = {k: v for k, v in catalogue.items() if k.split(".")[0] in OWN}
    assert len(own) > 300
    assert {k: v for k, v in own.items() if bad.search(v)} == {}


OWN = ("cli", "walk", "first", "word", "help", "tonight", "demo", "sheet", "odd", "said")


def test_placeholders_are_plain_names() -> None:
    catalogue = _catalogue("en")._catalog  # type: ignore[attr-defined]
    for key, words in catalogue.items():
        for _, name, spec, _ in string.Formatter().parse(words):
            assert name is None or name.isidentifier(), key
            assert not spec, key


def test_honesty_lines_say_what_it_is_not() -> None:
    from ebbwell.cli.walk.first_run import HONEST

    text = " ".join(say(key) for key in HONEST)
    for part in ("no alarm", "no prescriber", "calls nobody", "not been assessed or approved", "never tried"):
        assert part in text
