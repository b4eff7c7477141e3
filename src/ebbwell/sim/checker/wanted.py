"""Whether what was written down is as a step wants it, said a second time: words, settings, packs and bounds."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from decimal import Decimal
from zoneinfo import ZoneInfo

from ebbwell.procedure.model import Evidence, Step
from ebbwell.sim.checker.in_force import InForce
from ebbwell.sim.checker.raw import Row, Word

CODES = {
    "acid": "acid_code",
    "bicarbonate": "bicarbonate_code",
    "dialyser": "dialyser",
    "fluid_bags": "bag_code",
}

LIQUID_OF_35 = Decimal("1.225")
"""Litres of liquid bicarbonate for a litre of acid that is mixed 1 + 34. Source: fluids:F1."""


class Wanted(InForce):
    """What a step wants of a word, over the order in force."""

    def wanted(self, step: Step, evidence: Evidence, word: Word) -> bool:
        """Whether what a word says lets the step pass."""
        s = word.says
        if word.kind == "answer" and evidence.name == "tests_failed_first" and s["answer"] == "no":
            stands = {i for w in self.words("choice") if w.says["name"] == "machine_tests" for i in w.ids}
            return all(one in stands or night != word.treatment for one, night in self.record.failed)
        if word.kind == "answer":
            return evidence.name not in step.wants or s["answer"] in step.wants[evidence.name]
        if word.kind == "choice":
            return evidence.name not in step.wants or s["option"] in step.wants[evidence.name]
        if word.kind == "measured":
            if s.get("not_measured"):
                return False
            if evidence.form == "setting":
                return self.as_set(s)
            return s["quantity"] not in step.wants or s["value"] in step.wants[s["quantity"]]
        if word.kind == "lot_used":
            return self.good_pack(s)
        lines = self.lines()
        if lines is None:
            return False
        if word.kind == "readback":
            held = self.words("prescription")
            return bool(s["prescription"] == held[0].id and s["shown"] == lines[0])
        if word.kind == "plan":
            return lines[1] <= set(s["rests_on"]) and not set(s["rests_on"]) & self.record.dead
        return True

    def as_set(self, s: Row) -> bool:
        """Whether a machine setting is what plan or prescription say."""
        name = s["quantity"]
        plans = self.words("plan")
        lines = self.lines()
        text = plans[-1].says["figures"].get(name) if plans else None
        if text is None:
            text = lines[0].get(name) if lines is not None else None
        if text is None:
            return False
        wanted, typed = Decimal(text.split()[0]), Decimal(s["value"])
        held = lines[0] if lines is not None else {}
        if name in ("removal_rate", "fluid_to_remove") and "removal_cap" in held:
            most = Decimal(held["removal_cap"]) * Decimal(held["target_weight"])
            if name == "fluid_to_remove":
                most = most * Decimal(held["treatment_minutes"]) / 60_000
            if typed > most >= wanted:
                return False
        return (
            abs(wanted - typed) <= Decimal("0.5")
            if name == "removal_rate"
            else abs(wanted - typed) < Decimal("0.05")
        )

    def good_pack(self, s: Row) -> bool:
        """Whether a pack may be used tonight."""
        try:
            expiry = date.fromisoformat(s.get("expiry", ""))
        except ValueError:
            return False
        if not s.get("intact", True) or expiry < self.now.at.astimezone(ZoneInfo(self.now.zone)).date():
            return False
        for recall in self.words("lot_recalled"):
            if (recall.says["item"], recall.says["lot"]) == (s["item"], s.get("lot", "")):
                return False
        lines = self.lines()
        line = CODES.get(s["item"])
        ordered = lines[0].get(line, "") if lines is not None and line is not None else ""
        return not ordered or bool(s.get("code", "").casefold() == ordered.casefold())

    def value(self, quantity: str, place: str = "") -> tuple[Decimal, Row] | None:
        """The newest measured value of a quantity."""
        for w in reversed(self.words("measured")):
            if (w.says["quantity"], w.says.get("place", "")) == (quantity, place) and w.says.get("value"):
                return Decimal(w.says["value"]), w.says
        return None

    def bound(self, text: str) -> bool:
        """Whether a bound holds; no value means no."""
        rule = text.removeprefix("rule:")
        if rule == "chlorine_control_blank":
            tested = self.value("total_chlorine", "tank1")
            if tested is None:
                return False
            colourless = bool(tested[1].get("below")) or not tested[0]
            return not colourless or tested[1].get("control") == "coloured"
        if rule.startswith("chlorine_tank"):
            found = self.value("total_chlorine", rule[9:14])
            if found is None:
                return False
            scale = [Decimal(one) for one in found[1].get("steps", "").split("/") if one.strip()]
            if scale and not found[0] and found[1].get("method") != "meter":
                return min(one for one in scale if one) <= Decimal("0.10")
            strip = found[1].get("method") == "strip" and not found[1].get("below")
            if rule.endswith("strip"):
                return not (strip and found[0] >= Decimal("0.1"))
            return found[0] <= Decimal("0.10")
        if rule == "residual_positive":
            return any(
                w.says["quantity"] == "residual_disinfectant" and w.says["value"] == "negative"
                for w in self.words("measured")
            )
        feed, product = self.value("feed_conductivity"), self.value("product_conductivity")
        if rule == "rejection_low":
            return feed is not None and product is not None and (1 - product[0] / feed[0]) * 100 >= 90
        if rule == "product_not_under_feed":
            return feed is not None and product is not None and product[0] < feed[0]
        return self._simple(rule)

    def _simple(self, rule: str) -> bool:
        lines = self.lines()
        ordered = lines[0] if lines is not None else {}
        if rule in ("acid_runs_dry", "bicarbonate_runs_dry"):
            wet = ordered.get("bicarbonate_form") == "liquid"
            bicarbonate = "bicarbonate_liquid" if wet else "bicarbonate_powder"
            found = self.value("acid_left" if rule.startswith("acid") else bicarbonate)
            if found is None or not ordered:
                return False
            flow, minutes = Decimal(ordered["dialysate_flow"]), Decimal(ordered["treatment_minutes"])
            if rule.startswith("acid") or wet:
                share = Decimal(1) if rule.startswith("acid") else LIQUID_OF_35
                return found[0] / share * Decimal(ordered["acid_parts"]) * 1000 / flow >= minutes
            grams_a_minute = Decimal(ordered["bicarbonate_mixed"]) * Decimal("0.084007") * flow / 1000
            return found[0] / grams_a_minute >= minutes
        if rule == "bag_fluid_runs_out":
            found = self.value("bag_fluid")
            flow = Decimal(ordered.get("dialysate_flow", "0"))
            return (
                found is not None
                and bool(flow)
                and found[0] * 1000 >= flow * Decimal(ordered["treatment_minutes"])
            )
        if rule == "heparin_strength_differs":
            found = self.value("heparin_strength")
            return found is not None and bool(ordered) and found[0] == Decimal(ordered["heparin_strength"])
        if rule == "meters_apart":
            one, two = self.value("fluid_conductivity", "machine"), self.value("fluid_conductivity", "meter")
            return one is not None and two is not None and abs(one[0] - two[0]) <= Decimal("0.3")
        if rule == "needle_tries_over":
            tries = [self.value("needle_tries", place) for place in ("arterial", "venous")]
            return all(t is not None and t[0] <= 2 for t in tries)
        if rule == "conductivity_outside":
            found = self.value("fluid_conductivity", "machine")
            return found is not None and 12 <= found[0] <= 16
        limits: dict[str, tuple[str, Callable[[Decimal], bool]]] = {
            "body_temperature_high": ("body_temperature", lambda v: v < Decimal("37.8")),
            "fluid_too_hot": ("fluid_temperature", lambda v: v < Decimal("38.5")),
            "ph_outside": ("fluid_ph", lambda v: Decimal("6.9") <= v <= Decimal("7.6")),
        }
        quantity, holds = limits[rule]
        found = self.value(quantity)
        return found is not None and holds(found[0])
