"""Leads make their heat where they are: whole designs against finite differences of the drawn board."""

from functools import cache

import pytest
from heat_designs import case_of as of_text
from lead_sheet import hottest

import coilgen
from coilgen.catalogue import templates
from coilgen.figures.heat import _warmth
from coilgen.figures.heat._assembly import assembly
from coilgen.job import case_of, draw

FILM, CURRENT = 8.0, 0.9
SHUTTER = (61.923772005417185, 0.26615872859561795)
"""Temperature, degC, and largest current, A, of a template without told leads."""


@cache
def found(name, still=False, current=CURRENT):
    """A large cool winding of broad turns whose leads are thin; in a wind of one film, or in still air."""
    tables = {
        "name": "flap",
        "winding": {
            "shape": "round",
            "layers": 2,
            "turns": 12,
            "trace_width": 1.2,
            "trace_spacing": 0.2,
            "outer_size": 40,
        },
        "board": {"stackup": "flex-2-layer"},
        "terminals": {"kind": "contact-fingers", "lead_width": 0.15},
        "drive": {"current": current},
    }
    for key, value in DESIGNS[name].items():
        tables[key] = {**tables.get(key, {}), **value} if isinstance(value, dict) else value
    if not still:
        tables["mounting"] = {"forced_convection": FILM}
    design = coilgen.Design.from_tables(tables)
    return case_of(design, *draw(design))


def bare(stackup, **terminals):
    return {
        "board": {"stackup": stackup, "outline": "rectangle", "width": 60, "height": 110},
        "terminals": {"kind": "plated-hole", "lead_width": 0.15, **terminals},
    }


DESIGNS = {
    "long thin tail": {"tail": {"length": 60}},
    "short wide tail": {"tail": {"length": 15, "width": 10}},
    "leads above": {"tail": {"length": 60, "leads": "above"}},
    "stiffened": {
        "tail": {"length": 60},
        "stiffener": [{"thickness": 0.3, "material": "FR-4", "length": 40}],
    },
    "bent": {"tail": {"length": 60}, "bend": [{"at": 20, "radius": 3}]},
    "rigid tail": {"tail": {"length": 60}, "board": {"stackup": "rigid-2-layer-1.6mm"}},
    "broad leads": {"tail": {"length": 60}, "terminals": {"lead_width": 1.0}},
    "film without a tail": bare("flex-2-layer", distance=45),
    "rigid without a tail": bare("rigid-2-layer-1.6mm", distance=45),
}


def warmth(case):
    """Hottest of leads and of winding, degC, as the tool has it."""
    return _warmth.leads_and_winding(case, _warmth.at_hottest(case))


LED = ("short wide tail", "long thin tail", "leads above", "stiffened", "bent", "rigid tail")


@pytest.mark.parametrize("name", [LED[0], *(pytest.param(each, marks=pytest.mark.slow) for each in LED[1:])])
def test_as_warm_as_the_drawn_board(name):
    """Rises: no more than 3 % under, nor 12 % over those of a sheet without thickness, which thin
    copper heats more easily."""
    case = found(name)
    leads, winding = warmth(case)
    sheet, wound = hottest(case, CURRENT, FILM)
    assert 0.97 * (sheet - 25) < leads - 25 < 1.12 * (sheet - 25)
    assert winding == pytest.approx(wound, abs=0.25 * (wound - 25))  # which hot leads warm where they meet


@pytest.mark.slow
@pytest.mark.parametrize("name", ["film without a tail", "rigid without a tail"])
def test_leads_on_a_board_without_a_tail(name):
    """Over a warm board a lead's own rise is on the weak side of what the air takes; never cooler."""
    case = found(name)
    sheet, _ = hottest(case, CURRENT, FILM, fine=7e-5, coarse=3e-4)
    assert 0.97 * (sheet - 25) < warmth(case)[0] - 25 < 1.7 * (sheet - 25)


@pytest.mark.parametrize("name", ["long thin tail", "film without a tail"])
def test_temperature_is_that_of_the_hottest_copper_and_limits_the_current(name):
    case = found(name, still=True)
    leads, winding = warmth(case)
    assert case.value("temperature") == leads > winding + 20
    assert case.figure("temperature").model.startswith("of the leads, the hottest")
    rows = {row["body"]: row["temperature"] for row in case.value("body_temperatures")}
    assert rows["hottest copper of the leads"] == leads == rows["hottest copper"]
    assert rows["hottest copper of the winding"] == winding
    (said,) = [each for each in case.figure("temperature_limits").cautions if "leads are the hottest" in each]
    assert f"{leads:.0f} °C" in said and "terminals.lead_width" in said and "0.15 mm" in said
    most = case.value("largest_current")
    hot = found(name, still=True, current=most).value("temperature")
    assert hot == pytest.approx(case.value("temperature_limits")[0]["temperature"], abs=0.05)


def test_broad_leads_are_cooler_than_the_winding():
    case = found("broad leads", still=True)
    leads, winding = warmth(case)
    assert leads < winding == case.value("temperature")
    assert not [each for each in case.figure("temperature_limits").cautions if "leads are" in each]


def test_the_copper_adds_up():
    """Winding and leads have the resistance of the whole."""
    case = found("leads above")
    net = _warmth.net(case)
    assert net.resistance_20c.sum() == pytest.approx(case.value("resistance_20c"), rel=1e-9)
    rho = case.design.board.stackup.metal.resistivity
    far = sum(part.resistance_20c for lead in assembly(case).leads.leads for part in lead.far)
    assert far == pytest.approx(2 * rho * 55e-3 / (0.15e-3 * 35e-6), rel=0.05)


def test_a_coil_whose_leads_nothing_is_told_of_is_as_it_was():
    """Templates' figures before leads counted by themselves, to the last digits that arithmetic keeps."""
    case = of_text(templates()["optical-shutter"])
    assert assembly(case).leads is None
    assert case.value("temperature") == pytest.approx(SHUTTER[0], rel=1e-13)
    assert case.value("largest_current") == pytest.approx(SHUTTER[1], rel=1e-13)
