"""Figures with a tail: its leads count in resistance, inductance, field and heat; stiffeners lift bodies."""

import math
from functools import cache

import pytest

import coilgen
from coilgen.figures.in_place._metal import pieces
from coilgen.job import case_of, draw

MU0 = 4e-7 * math.pi


@cache
def case(length=25, leads="beside", width=0.4, stiffened=False):
    tables = {
        "name": "flap",
        "winding": {
            "shape": "round",
            "layers": 2,
            "turns": 6,
            "trace_width": 0.2,
            "trace_spacing": 0.2,
            "outer_size": 10,
        },
        "board": {"stackup": "flex-2-layer"},
        "tail": {"length": length, "leads": leads, **({"lead_spacing": 1.0} if leads == "beside" else {})},
        "terminals": {"kind": "contact-fingers", "lead_width": width},
        "drive": {"current": 0.1},
        "mounting": {"base_plate": {"material": "aluminium", "place": "bottom", "width": 20, "thickness": 1}},
    }
    if stiffened:
        tables["stiffener"] = [{"thickness": 0.3, "beneath": "winding"}]
    design = coilgen.Design.from_tables(tables)
    return case_of(design, *draw(design))


def more(name, **of):
    """What 20 mm of tail add to a figure."""
    return case(length=45, **of).value(name) - case(length=25, **of).value(name)


@pytest.mark.parametrize("leads", ["beside", "above"])
def test_two_leads_of_20_mm_add_their_resistance(leads):
    """rho l / (w t), rho of the materials data; 2 x 20 mm of 0.4 x 0.035 mm make 49 milliohm."""
    rho = case().design.board.stackup.metal.resistivity
    assert more("resistance_20c", leads=leads) == pytest.approx(rho * 40e-3 / (0.4e-3 * 35e-6), rel=1e-6)
    assert more("trace_length", leads=leads) == pytest.approx(40e-3, rel=1e-9)


def _go_and_return(length, spacing, width, thickness):
    """Of two parallel strips, H: mu0 l / pi (ln(d / GMD) - d / l), Rosa 1908; GMD of a strip from itself is
    0.2235 (w + t) (T. R. Lyle, Phil. Trans. A 213, 1914, table 1), between strips beside each other exact to
    order (w/d)²: ln GMD = ln d - w² / (12 d²)."""
    own = math.log(0.2235 * (width + thickness))
    between = math.log(spacing) - width**2 / (12 * spacing**2)
    return MU0 * length / math.pi * (between - own)


def test_leads_beside_each_other_add_the_inductance_of_a_pair_of_strips():
    """Without the ends, which the difference of two lengths leaves out."""
    expected = _go_and_return(20e-3, 1.4e-3, 0.4e-3, 35e-6)
    assert more("inductance") == pytest.approx(expected, rel=0.01)


def test_leads_above_one_another_add_far_less():
    """Two strips of 0.4 mm at 60 um from middle to middle: less than mu0 l d / w, as the field spreads."""
    wide = MU0 * 20e-3 * (25e-6 + 2 * 35e-6) / 0.4e-3
    added = more("inductance", leads="above")
    assert 0 < added < wide
    assert added < 0.4 * more("inductance")


def test_the_field_far_down_the_axis_hardly_knows_the_tail():
    near, far = (case(length=length).value("flux_density")[0]["flux_density"] for length in (25, 45))
    assert far == pytest.approx(near, rel=2e-3)


def test_the_heat_of_the_leads_counts():
    cool, warm = case(), case(length=45)
    assert warm.value("power") > cool.value("power") * 1.02
    assert warm.value("temperature") > cool.value("temperature")
    assert "tail" in warm.figure("temperature").model


def test_a_stiffener_beneath_the_winding_keeps_heat_in_and_the_plate_away():
    """The joint grows by the resistance of sheet and adhesive, and the plate moves off by both."""
    plain, stiff = case(), case(stiffened=True)
    assert stiff.design.stand.bare("bottom") == pytest.approx(plain.design.stand.bare("bottom") - 0.35e-3)
    assert stiff.value("temperature") > plain.value("temperature")
    (near,), (far,) = (pieces(each) for each in (plain, stiff))
    assert far.body.bottom == pytest.approx(near.body.bottom - 0.35e-3)
