"""Stiffeners in the heat of flexible boards: against finite differences of the drawn board, and laws."""

from functools import cache

import pytest
from lead_sheet import hottest

import coilgen
from coilgen.design.stackup import laminate
from coilgen.figures.several._made import EXPECTED
from coilgen.figures.several._warm import _network
from coilgen.job import case_of, draw

FILM = 12.0
COIL = {
    "shape": "round",
    "layers": 2,
    "turns": 6,
    "trace_width": 0.4,
    "trace_spacing": 0.3,
    "outer_size": 16,
}
STIFF = [{"beneath": "winding", "material": "FR-4", "thickness": 0.3, "place": "bottom"}]


@cache
def one(stiffened):
    return made(
        winding=COIL,
        tail={"length": 20, "width": 8},
        terminals={"kind": "contact-fingers", "lead_width": 0.4},
        stiffener=STIFF if stiffened else [],
        drive={"current": 0.8},
    )


@cache
def two(stiffened):
    beneath = [{**STIFF[0], "beneath": [-20, -12, 20, 12]}]
    return made(
        winding=[{"name": name, "centre": [x, 0], **COIL} for name, x in (("a", -9), ("b", 9))],
        board={"outline": "rectangle", "width": 44, "height": 30},
        stiffener=beneath if stiffened else [],
        drive={"current": 0.8},
    )


def made(board=None, **tables):
    tables = {"name": "stiff", "mounting": {"forced_convection": FILM}, **tables}
    design = coilgen.Design.from_tables({"board": {"stackup": "flex-2-layer", **(board or {})}, **tables})
    return case_of(design, *draw(design))


@pytest.mark.slow
@pytest.mark.parametrize("case", [one, two])
@pytest.mark.parametrize("stiffened", [False, True])
def test_windings_are_as_warm_as_those_of_the_drawn_board(case, stiffened):
    drawn = case(stiffened)
    _, wound = hottest(drawn, 0.8, FILM, fine=1e-4, coarse=2e-4)
    assert 0.97 < (drawn.value("temperature") - 25) / (wound - 25) < 1.2


@pytest.mark.parametrize("case", [one, two])
def test_what_is_stiffened_stays_cooler(case):
    bare, stiff = (case(each).value("temperature") - 25 for each in (False, True))
    assert stiff < 0.8 * bare


def test_what_is_stiffened_warms_slower():
    """FR-4 of 0.3 mm holds more than twice the heat of a flexible board of 0.1 mm with its copper."""
    bare, stiff = (one(each).value("thermal_time_constant") for each in (False, True))
    assert stiff > 2 * bare


def test_the_board_of_several_holds_the_stiffeners_heat():
    bare, stiff = (_network(two(each), EXPECTED).capacity.sum() for each in (False, True))
    facts = laminate("FR-4")
    assert stiff - bare == pytest.approx(
        40e-3 * 24e-3 * 0.3e-3 * facts.density * facts.heat_capacity, rel=1e-2
    )
