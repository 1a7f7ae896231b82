"""Rows of contacts and of marks of temperature: complete, in order, sourced."""

import pytest

from coilgen.catalogue import rows
from coilgen.physics.heat.convection import DEAD_AIR, lying_disc, rayleigh
from coilgen.physics.heat.steady import COPPER_MELTS

READ = ("CRC Handbook", "US Standard Atmosphere")
"""Sources that were at hand."""


@pytest.mark.parametrize("kind", ["contacts", "convection", "temperature_limits"])
def test_every_row_says_what_it_is_and_where_its_numbers_come_from(kind):
    for row in rows(kind).values():
        assert row["says"]
        assert any(word in row["source"] for word in ("practice", "from memory", "not measured", *READ))


def test_convection_is_told_as_least_typical_most():
    for row in rows("convection").values():
        least, typical, most = row["factor"]
        assert 0 < least < typical == 1 < most


def test_the_most_of_still_air_is_a_slight_draught():
    # 0.15 m/s along a plate of 20 mm beside dead air's Nusselt number, mean of both faces (Churchill 1977).
    draught = 0.664 * (0.15 * 0.02 / 1.6e-5) ** 0.5 * 0.71 ** (1 / 3)
    still = DEAD_AIR * float(lying_disc(rayleigh(368.0, 298.0, 0.02)[0]))
    assert rows("convection")["still-air"]["factor"][-1] == pytest.approx(
        (1 + (draught / still) ** 3) ** (1 / 3), rel=0.03
    )


def test_contacts_run_from_good_to_bad():
    each = [row["resistance"] for row in rows("contacts").values()]
    assert list(rows("contacts")) == ["solid", "thin-tape", "hand-taped", "foam-tape", "air-gap"]
    for band in each:
        assert 0 < band[0] < band[1] < band[2]
    typical = [band[1] for band in each]
    assert typical == sorted(typical)


def test_air_gap_is_air_of_its_thickness():
    low, typical, high = rows("contacts")["air-gap"]["resistance"]
    for resistance, gap in ((low, 0.2e-3), (typical, 0.5e-3), (high, 1e-3)):
        assert 0.026 <= gap / resistance <= 0.030


def test_marks_rise_and_name_materials_there_are():
    marks = rows("temperature_limits")
    temperatures = [row["temperature"] for row in marks.values()]
    assert temperatures == sorted(temperatures)
    for row in marks.values():
        assert row["kind"] in {"touch", "magnet", "material", "fire", "char"}
        assert set(row.get("laminate", ())) <= set(rows("materials"))


def test_shorter_touches_bear_more():
    touches = [row for row in rows("temperature_limits").values() if row["kind"] == "touch"]
    spans = [row.get("within", float("inf")) for row in touches]
    assert spans == sorted(spans, reverse=True)


def test_marks_agree_with_the_materials_and_the_model():
    marks = rows("temperature_limits")
    for name in ("laminate", "flex-adhesive"):
        for material in marks[name]["laminate"]:
            assert rows("materials")[material]["limit_temperature"] == marks[name]["temperature"]
    assert marks["copper"]["temperature"] == COPPER_MELTS
