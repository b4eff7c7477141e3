"""Litres, money, flow by temperature and carbon against sums from the definitions."""

import pytest

from tests.external.table import Row, calc, check, params


def product(flow: str) -> str:
    return str(calc("product_needed", dialysate_flow_ml_min=flow, treatment_min="480"))


ROWS = (
    *(
        Row(
            "arithmetic",
            f"fluids 1.8, 8 h at {flow} mL/min: feed at {share} %",
            lambda flow=flow, share=share: calc(  # type: ignore[misc]
                "feed_needed", product_l=product(flow), recovery_percent=share
            ),
            litres,
        )
        for flow, share, litres in (("200", "40", "240"), ("400", "75", "256"), ("500", "50", "480"))
    ),
    *(
        Row(
            "arithmetic",
            f"fluids 1.8, 8 h at {flow} mL/min: reject at 50 %",
            lambda flow=flow: calc(  # type: ignore[misc]
                "reject_water", product_l=product(flow), recovery_percent="50"
            ),
            litres,
        )
        for flow, litres in (("200", "96"), ("300", "144"), ("400", "192"), ("500", "240"))
    ),
    Row(
        "fluids:W17",
        "150 L of product with 90 % of the source rejected: 1,350 L to the drain",
        lambda: calc("reject_water", product_l="150", recovery_percent="10"),
        "1350",
    ),
    Row(
        "arithmetic",
        "fluids 1.8: drain is reject, spent fluid and what was removed",
        lambda: calc("drain_water", feed_l="288", removal_l="2.3"),
        "290.3",
    ),
    Row(
        "arithmetic",
        "price x volume: 288 L at 4.50 for 1,000 L",
        lambda: calc("water_cost", feed_l="288", price_per_m3="4.50"),
        "1.296",
    ),
    Row(
        "from memory",
        "fluids 1.5: feed at 8 C gives about 58 % of the flow at 25 C by the weaker figure",
        lambda: 100 / calc("flow_at_25_least", product_flow_l_min="1", water_temperature_c="8"),
        "58",
    ),
    Row(
        "from memory",
        "fluids 1.5: and about 54 % by the stronger",
        lambda: 100 / calc("flow_at_25_most", product_flow_l_min="1", water_temperature_c="8"),
        "54",
    ),
    Row(
        "arithmetic",
        "e ^ (2,700 x (1 / 281.15 - 1 / 298.15))",
        lambda: calc("flow_at_25_least", product_flow_l_min="1", water_temperature_c="8"),
        "1.7290",
    ),
    Row(
        "arithmetic",
        "e ^ (3,000 x (1 / 281.15 - 1 / 298.15))",
        lambda: calc("flow_at_25_most", product_flow_l_min="1", water_temperature_c="8"),
        "1.8375",
    ),
    Row(
        "arithmetic",
        "above 25 C the stronger figure gives the low end: e ^ (3,000 x (1 / 308.15 - 1 / 298.15))",
        lambda: calc("flow_at_25_least", product_flow_l_min="1", water_temperature_c="35"),
        "0.7214",
    ),
    Row(
        "from memory",
        "fluids 1.5: about 3 % a degree, by either figure at 24 C",
        lambda: 100 * calc("flow_at_25_most", product_flow_l_min="1", water_temperature_c="24") - 100,
        "3",
    ),
    Row(
        "arithmetic",
        "fluids 1.4: litres x chlorine",
        lambda: calc("carbon_load", feed_l="12000", feed_chlorine_mg_l="0.8"),
        "9600",
        "0",
    ),
    Row(
        "arithmetic",
        "fluids 1.4: what is left of 30,000 mg after 9,600 mg, at 0.8 mg/L",
        lambda: calc("carbon_litres_left", rated_mg="30000", taken_up_mg="9600", feed_chlorine_mg_l="0.8"),
        "25500",
        "0",
    ),
)


@pytest.mark.parametrize("row", params(ROWS))
def test_supply(row: Row) -> None:
    check(row)
