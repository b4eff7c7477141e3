"""Conductivity from composition, what moves it, and other temperatures, against handbook figures."""

from decimal import Decimal

import pytest

from ebbwell.core.units import convert
from ebbwell.science import conductivity
from tests.external.table import Row, calc, check, params
from tests.external.test_composition import fluid, of

D = Decimal
EXERCISE = "textbook exercise, NaCl at 298 K"
DIFFUSION = "diffusion coefficient in the data of pyEQL 1.7.0, turned into a conductivity at 25 C"
HANDBOOK = "fluids 2.3, handbook value at 25 C"


def limiting(name: str, charge: int, diffusion: str) -> Decimal:
    """Our limiting conductivity less the one of a diffusion coefficient in 1e-9 m2/s: D z F2 / (R T)."""
    faraday, gas = D("96485.33212"), D("8.314462618")
    theirs = D(diffusion) * D("1e-5") * charge * faraday**2 / (gas * D("298.15"))
    return D(getattr(conductivity, name)) - theirs


ROWS = (
    *(
        Row(
            "fluids:D3",
            f"{EXERCISE}, {amount} mmol/L (10, 50 and 100: fluids 6, row 23)",
            lambda amount=amount: of("conductivity_expected", sodium=amount),
            text,
            within,
        )
        for amount, text, within in (
            ("1", "0.1237", "0.0001"),
            ("10", "1.185", "0.0005"),
            ("20", "2.315", "0.002"),
            ("50", "5.553", "0.0056"),
            ("100", "10.674", "0.032"),
        )
    ),
    Row(
        "examples:E7.1",
        "0.1 M KCl is given as 1.29 S/m; the 0.02 M of the exercise is made up, real KCl lies 12 % above it",
        lambda: convert(of("conductivity_expected", potassium="100"), "mS/cm", "S/m"),
        "1.29",
    ),
    Row(
        "examples:E7.2",
        "KCl 0.10 M",
        lambda: of("conductivity_expected", potassium="100"),
        "12.9",
    ),
    Row(
        "examples:E7.2",
        "KCl 0.01 M",
        lambda: of("conductivity_expected", potassium="10"),
        "1.41",
    ),
    Row(
        "examples:E7.5",
        "limiting conductivity of KCl less that of NaCl",
        lambda: conductivity.LIMIT_POTASSIUM - conductivity.LIMIT_SODIUM,
        "23.4",
    ),
    Row(
        "fluids:D1",
        "fluids 6, row 22: standard KCl, 0.01 mol/kg at 25 C, as 0.00997 mol/L",
        lambda: of("conductivity_expected", potassium="9.97"),
        "1.40823",
        "0.0030",
    ),
    Row(
        "from memory",
        f"{HANDBOOK}: KCl 0.1 mol/L, printed as 12.88 to 12.90 (row 21)",
        lambda: of("conductivity_expected", potassium="100"),
        "12.88",
        "0.0644",
    ),
    Row(
        "from memory",
        f"{HANDBOOK}: KCl 0.01 mol/L",
        lambda: of("conductivity_expected", potassium="10"),
        "1.413",
        "0.00706",
    ),
    Row(
        "from memory",
        f"{HANDBOOK}: NaHCO3 0.1 mol/L",
        lambda: of("conductivity_expected", sodium="100", bicarbonate="100"),
        "7.598",
        "0.038",
    ),
    Row(
        "from memory",
        f"{HANDBOOK}: sodium acetate 0.1 mol/L",
        lambda: of("conductivity_expected", sodium="100", acetate="100"),
        "7.276",
        "0.036",
    ),
    Row(
        "from memory",
        f"{HANDBOOK}: CaCl2 0.05 mol/L, within the 2 % that we state",
        lambda: of("conductivity_expected", calcium="50"),
        "10.241",
        "0.205",
    ),
    Row(
        "from memory",
        f"{HANDBOOK}: MgCl2 0.05 mol/L, within the 2 % that we state",
        lambda: of("conductivity_expected", magnesium="50"),
        "9.705",
        "0.194",
    ),
    *(
        Row("fluids:2.3", f"{DIFFUSION}: {name}", lambda args=args: limiting(*args), "0", "0.03")
        for name, *rest in (
            ("LIMIT_SODIUM", 1, "1.334"),
            ("LIMIT_POTASSIUM", 1, "1.957"),
            ("LIMIT_CALCIUM", 2, "0.792"),
            ("LIMIT_MAGNESIUM", 2, "0.706"),
            ("LIMIT_CHLORIDE", 1, "2.032"),
            ("LIMIT_BICARBONATE", 1, "1.185"),
            ("LIMIT_ACETATE", 1, "1.089"),
            ("LIMIT_CITRATE", 3, "0.623"),
        )
        for args in ((name, *rest),)
    ),
    Row(
        "from memory",
        "A of a 1:1 salt in water at 298 K, S cm2/mol over the root of mol/L, physical chemistry textbooks",
        lambda: 2 * conductivity.ELECTROPHORETIC,
        "60.20",
    ),
    Row("from memory", "B of the same table", lambda: conductivity.RELAXATION, "0.229"),
    Row(
        "from memory",
        "Debye length in water at 25 C, angstrom x root of mol/L, with an ion size of 4.0 angstrom",
        lambda: 4 / conductivity.ION_SIZE,
        "3.04",
    ),
    Row(
        "fluids:F10",
        "fluids 6, row 27: 1 mmol/L more NaCl on mix A; 9 mmol/L of sodium went with 0.9 mS/cm in plasma",
        lambda: calc("conductivity_per_sodium", **fluid("A")),
        "0.096",
        "0.005",
    ),
    Row(
        "arithmetic",
        "fluids 2.4: 4 mmol/L less bicarbonate and 4 more chloride add about 0.12",
        lambda: -4 * calc("conductivity_per_bicarbonate", **fluid("A")),
        "0.12",
        "0.01",
    ),
    Row(
        "fluids:D1",
        "fluids 6, row 28: KCl 0.1 mol/kg from 25 to 35 C",
        lambda: (
            100
            * calc(
                "conductivity_coefficient",
                reading_25_ms_cm="12.8246",
                reading_ms_cm="15.3160",
                temperature_c="35",
            )
        ),
        "1.943",
        "0.005",
    ),
    Row(
        "fluids:D1",
        "the same, 0.01 mol/kg",
        lambda: (
            100
            * calc(
                "conductivity_coefficient",
                reading_25_ms_cm="1.40823",
                reading_ms_cm="1.68779",
                temperature_c="35",
            )
        ),
        "1.99",
    ),
    *(
        Row(
            key,
            f"KCl table from {cold} C to 25 C",
            lambda values=values: calc(
                "conductivity_coefficient",
                reading_25_ms_cm=values[0],
                reading_ms_cm=values[1],
                temperature_c=values[2],
            ),
            text,
        )
        for key, cold, reading_25, reading, text in (
            ("examples:E7.7", "20", "1.40823", "1.27303", "0.01920"),
            ("examples:E7.7", "18", "1.40823", "1.21993", "0.01910"),
            ("examples:E7.8", "20", "12.8246", "11.6159", "0.01885"),
            ("examples:E7.8", "18", "12.8246", "11.1406", "0.01876"),
        )
        for values in ((reading_25, reading, cold),)
    ),
    Row(
        "arithmetic",
        "fluids 6, row 29, backwards",
        lambda: calc(
            "conductivity_at_temperature",
            conductivity_25_ms_cm="14.00",
            temperature_c="37",
            coefficient_per_c="0.020",
        ),
        "17.36",
        "0.005",
    ),
    Row(
        "fluids:2.4",
        "mix A at 37 C with 2 % for each degree",
        lambda: calc(
            "conductivity_at_temperature",
            conductivity_25_ms_cm=str(calc("conductivity_expected", **fluid("A"))),
            temperature_c="37",
            coefficient_per_c="0.020",
        ),
        "17.4",
    ),
    Row(
        "fluids:2.4",
        "the wider of the two tolerances against outside programs",
        lambda: calc("conductivity_spread", temperature_c="25", coefficient_per_c="0.02"),
        "2",
        "0",
    ),
    Row(
        "arithmetic",
        "the coefficient within 0.001: 100 x 0.001 x 12 / 1.24 on top of 2 %",
        lambda: calc(
            "conductivity_spread", temperature_c="37", coefficient_per_c="0.02", spread_per_c="0.001"
        ),
        "2.968",
    ),
)


@pytest.mark.parametrize("row", params(ROWS))
def test_conductivity(row: Row) -> None:
    check(row)
