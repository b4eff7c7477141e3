"""The ranges that several formulas share. Source: practice a0 (last range of each field), widened where a
formula is also used on printed examples; none of them is a limit for treatment.
"""

from __future__ import annotations

from decimal import Decimal

from ebbwell.science.formula import span

ZERO = Decimal(0)

WEIGHT = span("kg", "20", "300")
REMOVAL = span("L", "0", "30")
RINSE_BACK = span("L", "0", "2")
PRIME = span("L", "0", "2")
DRINK = span("L", "0", "4")
SALINE = span("L", "0", "3")
LOSSES = span("L", "0", "4")
HOURS = span("h", "0.25", "14")
HOURS_LEFT = span("h", "0.05", "14")
MINUTES = span("min", "15", "840")
MINUTES_PART = span("min", "0", "840")
CAP = span("mL/kg/h", "0.5", "30")
CAP_VOLUME = span("L", "0", "130")
BLOOD_FLOW = span("mL/min", "0", "600")
DIALYSATE_FLOW = span("mL/min", "0", "1000")
DIALYSATE_FLOW_RUNNING = span("mL/min", "50", "1000")
PARTS = span("parts", "10", "100")
SHARE = span("%", "0", "100")
