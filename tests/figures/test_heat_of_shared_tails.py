"""Leads of several windings, and of an array on one tail: against finite differences of the drawn board."""

from functools import cache
from itertools import pairwise

import pytest
from lead_sheet import hottest

import coilgen
from coilgen.figures.several._leads import leads_of_several, resistances_apart
from coilgen.figures.several._warm import state
from coilgen.job import case_of, draw

FILM = 8.0
BLOWN = (("forced_convection", FILM),)
STILL = (("orientation", "vertical"),)
COIL = {
    "shape": "round",
    "layers": 2,
    "turns": 4,
    "trace_width": 0.9,
    "trace_spacing": 0.15,
    "outer_size": 14,
}
RING = {"arrangement": "ring", "count": 3, "radius": 12, "coils": "series", "connection": "star"}


@cache
def two(one, other, lead_width=0.15, **drive):
    """Two windings side by side on a tail of 50 mm, with their currents."""
    windings = [
        {"name": f"w{k}", "centre": [18 * k, 0], **COIL, "drive": drive or {"current": current}}
        for k, current in enumerate((one, other))
    ]
    return made(windings, lead_width, offset=9)


def made(winding, lead_width=None, offset=0, **more):
    tables = {
        "name": "flap",
        "winding": winding,
        "board": {"stackup": "flex-2-layer"},
        "tail": {"length": 50, "offset": offset},
        "terminals": {"kind": "contact-fingers", "lead_width": lead_width},
        "mounting": {"forced_convection": FILM},
        **more,
    }
    design = coilgen.Design.from_tables({key: keys for key, keys in tables.items() if keys is not None})
    return case_of(design, *draw(design))


@cache
def tailless(lead_width, stackup="flex-2-layer", air=BLOWN, **terminals):
    """Two windings side by side, each with leads of its own to the board's edge."""
    told = {"lead_width": lead_width, "distance": 18, **terminals}
    windings = [
        {"name": f"w{k}", "centre": [18 * k - 9, 0], **COIL, "terminals": told, "drive": {"current": current}}
        for k, current in enumerate((0.6, 0.5))
    ]
    board = {"stackup": stackup, "outline": "rectangle", "width": 40, "height": 46}
    return made(windings, board=board, tail=None, terminals=None, mounting=dict(air))


@cache
def star():
    return made(COIL, 0.15, array=RING, drive={"current": 0.6})


def near(case, currents):
    """Rises of leads and of windings over those of a sheet without thickness, as the board is drawn."""
    led, wound = hottest(case, currents, FILM)
    found = state(case)
    return (found.leads - 25) / (led - 25), (float(found.hottest.max()) - 25) / (wound - 25)


@pytest.mark.slow
@pytest.mark.parametrize(("currents", "width"), [((0.6, 0.6), 0.15), ((0.7, 0.1), 0.15), ((0.6, 0.6), 0.6)])
def test_two_windings_are_as_warm_as_the_drawn_board(currents, width):
    """Leads up to the tail count in the windings too, which is on the warm side."""
    leads, windings = near(two(*currents, lead_width=width), dict(zip(("w0", "w1"), currents, strict=True)))
    assert 0.97 < leads < 1.25
    assert 0.9 < windings < 1.25


@pytest.mark.slow
def test_without_a_tail_they_are_as_warm_as_the_drawn_board():
    """Leads are taken as endless lines over their board, which is on the warm side of short ones."""
    leads, windings = near(tailless(0.15), {"w0": 0.6, "w1": 0.5})
    assert 0.97 < leads < 1.5
    assert 0.85 < windings < 1.1


def test_without_a_tail_thin_leads_are_the_hottest_copper_and_broad_ones_are_not():
    thin, broad = tailless(0.15), tailless(0.9)
    assert thin.value("temperature") == state(thin).leads > state(thin).hottest.max() + 5
    assert thin.figure("temperature").model.startswith("of the leads, the hottest")
    (said,) = [each for each in thin.figure("winding_temperatures").cautions if "hottest copper" in each]
    assert "0.15 mm" in said and "terminals.lead_width" in said
    assert state(broad).leads < state(broad).hottest.max() + 0.5


def test_without_a_tail_leads_stand_in_still_air():
    """They show no face of their own to it: their board does."""
    still = tailless(0.15, air=STILL)
    assert state(still).leads > state(still).hottest.max() + 5


@pytest.mark.parametrize(("wound", "led"), [(1, {1, 2}), (3, {1, 3}), (4, {1, 4})])
def test_leads_beyond_the_wound_layers_lie_where_they_are_drawn(wound, led):
    one_layer = {**COIL, "layers": None, "copper_layers": [wound]}
    winding = {"name": "w", "centre": [0, 0], **{key: keys for key, keys in one_layer.items() if keys}}
    board = {"stackup": "rigid-4-layer-1.6mm", "outline": "rectangle", "width": 40, "height": 46}
    terminals = {"lead_width": 0.15, "distance": 18}
    case = made([{**winding, "drive": {"current": 0.3}}], board=board, tail=None, terminals=terminals)
    assert {step.layer for lead in leads_of_several(case) for step in lead.near} == led
    assert led == {trace.layer for trace in case.coil.traces}
    assert state(case).leads > state(case).hottest.max()


def test_a_lead_of_one_of_several_windings_is_as_hot_as_that_of_one_alone():
    """The other winding stands far off and hardly warms it; an own model has the winding as rings."""
    tables = {
        "name": "alone",
        "winding": COIL,
        "terminals": {"lead_width": 0.15, "distance": 18},
        "drive": {"current": 0.6},
        "board": {"stackup": "flex-2-layer", "outline": "rectangle", "width": 40, "height": 46},
        "mounting": {"forced_convection": FILM},
    }
    design = coilgen.Design.from_tables(tables)
    alone = case_of(design, *draw(design)).value("temperature")
    assert state(tailless(0.15)).leads - 25 == pytest.approx(alone - 25, rel=0.15)


def test_leads_that_leave_their_winding_take_their_share_of_its_resistance_with_them():
    """What is told of a winding is the same wherever its leads make their heat."""
    case = tailless(0.15)
    row = case.value("winding_temperatures")[0]
    assert 0 < resistances_apart(case)[0] < 0.5 * case.windings[0].case.value("resistance_20c")
    assert row["power"] == pytest.approx(0.36 * row["resistance"], rel=1e-6)


@pytest.mark.slow
def test_an_array_is_as_warm_as_the_drawn_board():
    """What joins its coils warms the board where it lies."""
    leads, windings = near(star(), 0.6)
    assert 0.95 < leads < 1.2
    assert 0.97 < windings < 1.1


@pytest.mark.slow
@pytest.mark.parametrize(("stackup", "width"), [("flex-2-layer", 0.3), ("rigid-2-layer-1.6mm", 1.0)])
def test_joints_warm_the_board_where_they_lie(stackup, width):
    """Narrow joints of a third of the coils' heat, and broad ones: the drawn board's, or a little warmer."""
    board, ring = {"stackup": stackup}, {**RING, "joint_width": width}
    tables = {"name": "star", "winding": COIL, "board": board, "array": ring, "drive": {"current": 0.8}}
    design = coilgen.Design.from_tables({**tables, "mounting": {"forced_convection": FILM}})
    case = case_of(design, *draw(design))
    beyond, wound = hottest(case, 0.8, FILM)
    found = state(case)
    assert 0.97 < (float(found.hottest.max()) - 25) / (wound - 25) < 1.2
    assert 0.97 < (found.peak - 25) / (max(beyond, wound) - 25) < 1.4


def test_temperature_is_that_of_the_hottest_copper():
    case, found = two(0.6, 0.6), state(two(0.6, 0.6))
    assert case.value("temperature") == found.leads > found.hottest.max() + 20
    assert case.figure("temperature").model.startswith("of the leads in the tail, the hottest")
    cautions = case.figure("winding_temperatures").cautions
    (said,) = [each for each in cautions if "are the hottest copper" in each]
    assert f"{found.leads:.0f} °C" in said and "0.15 mm" in said and "terminals.lead_width" in said


def test_broad_leads_are_no_hotter_than_windings():
    case = two(0.6, 0.6, lead_width=0.6)
    assert not [each for each in case.figure("winding_temperatures").cautions if "hottest copper" in each]


def test_resistance_and_power_are_those_with_the_leads():
    """By the drive's current; hot leads take their share of a voltage."""
    row = two(0.6, 0.6).value("winding_temperatures")[0]
    cold = two(0.6, 0.6).windings[0].case.value("resistance_20c")
    assert row["resistance"] > 1.05 * cold
    assert row["power"] == pytest.approx(0.36 * row["resistance"], rel=1e-6)
    driven = two(0, 0, voltage=0.3).value("winding_temperatures")[0]
    assert driven["current"] == pytest.approx(0.3 / driven["resistance"], rel=0.05)


def test_warm_leads_hold_back_what_would_melt_them_cold():
    """0.9 V drive 2.4 A through cold copper, for which these leads are too thin."""
    held = two(0, 0, voltage=0.9)
    found = state(held)
    assert found.leads > state(two(0, 0, voltage=0.6)).leads + 30
    assert found.resistance == pytest.approx([0.9 / current for current in found.current], rel=0.03)
    cold = sum(each.case.value("resistance_20c") for each in held.windings)
    assert 1.3 * cold < found.resistance.sum() < (1 + 3.93e-3 * (found.leads - 20)) * cold


def test_leads_that_a_voltage_melts_are_told_so():
    case = two(0, 0, voltage=6.0)
    assert case.figure("temperature") is None
    told = case.figure("winding_temperatures")
    assert told.value == []
    (said,) = told.cautions
    assert said.startswith("Warning") and "Danger of fire" in said and "leads" in said and "0.15 mm" in said


def test_leads_hotter_than_the_cold_air_could_cool_settle_where_hot_air_does():
    """Between 400 degC and copper's melting point: a growing current makes them hotter without a leap."""
    found = [state(two(current, current)).leads for current in (1.2, 1.3, 1.4, 1.5)]
    steps = [later - before for before, later in pairwise(found)]
    assert 350 < found[0] < found[-1] < 600
    assert max(steps) < 1.2 * min(steps)


@pytest.mark.parametrize("case", [lambda: two(0.6, 0.6), star], ids=["two", "array"])
def test_every_terminal_has_its_lead(case):
    """From winding to finger: all told leads, of the tail's length less its end, in a row across it."""
    found, tail = leads_of_several(case()), case().coil.tail
    assert len(found) == len(case().coil.terminals)
    for lead in found:
        assert lead.near
        assert sum(step.length for step in lead.far) == pytest.approx(tail.length, abs=6e-3)
    rho, section = case().design.board.stackup.metal.resistivity, 0.15e-3 * 35e-6
    whole = sum(step.length for lead in found for step in lead.far)
    assert sum(resistances_apart(case())) == pytest.approx(rho * whole / section, rel=1e-3)


def test_leads_of_a_winding_that_nothing_drives_make_no_heat():
    none, little = (state(two(0.6, idle)) for idle in (0, 1e-6))
    assert none.leads == pytest.approx(little.leads, rel=1e-9)
    assert none.resistance == pytest.approx(little.resistance, rel=1e-6)
    assert (none.power[1], little.power[1] > 0) == (0.0, True)
