"""Steady plates obey the laws of heat, agree with closed forms and, where round, with the rings."""

from dataclasses import replace

import numpy as np
import pytest
from heat_cases import EPOXY_GLASS, imbalance
from plate_cases import (
    LAMINATE,
    amperes,
    circle,
    coil,
    linear,
    plate,
    rectangle,
    steel,
    thin,
    turned,
    volts,
    wound,
)
from round_sheets import heated_disc_rise

from coilgen.physics.heat import body as rings
from coilgen.physics.heat import outline
from coilgen.physics.heat.body import PocketCore, Supply, Surroundings
from coilgen.physics.heat.network import network
from coilgen.physics.heat.plate.body import Circuit, PlacedCore, bounded
from coilgen.physics.heat.plate.network import plate_network
from coilgen.physics.heat.plate.steady import (
    PlateRunaway,
    PlateSteady,
    plate_steady_state,
)
from coilgen.physics.heat.steady import steady_state

AIR = 25.0
LONG = rectangle(70e-3, 30e-3)
TWO = (coil((-12e-3, 0.0)), coil((12e-3, 0.0)))


def solved(board, circuits, cell=None):
    found = plate_steady_state(plate_network(board, cell), circuits)
    assert isinstance(found, PlateSteady)
    return found


def rise(board, circuits, cell=None):
    """Hottest and mean of the first winding over the air."""
    state = solved(board, circuits, cell)
    return state.hottest[0] - AIR, state.mean[0] - AIR


def ring(outline, inner, outer, **more):
    """The same winding of today's rings: two layers of 35 µm, half covered, 5 ohm."""
    layer = rings.CopperLayer(thickness=35e-6, coverage=0.5, resistance_20c=2.5)
    air = more.pop("air", Surroundings())
    hole = more.pop("hole_radius", 0.0)
    board = rings.WoundBoard(
        outline=outline,
        winding_inner_radius=inner,
        winding_outer_radius=outer,
        layers=(layer, layer),
        dielectric=(1.5e-3,),
        laminate=EPOXY_GLASS,
        hole_radius=hole,
    )
    assert EPOXY_GLASS == LAMINATE
    state = steady_state(network(rings.Assembly(board=board, surroundings=air, **more)), Supply(current=0.4))
    return state.coil_peak - AIR, state.coil_mean - AIR


@pytest.mark.parametrize(
    ("name", "by_rings", "board"),
    [
        (
            "round",
            ring(outline.disc(30e-3), 2e-3, 14e-3),
            plate(circle(15e-3), coil(outer=14e-3, inner=2e-3)),
        ),
        (
            "upright ring",
            ring(outline.disc(20e-3), 5e-3, 8e-3, air=Surroundings(orientation="vertical")),
            plate(
                circle(10e-3), coil(outer=8e-3, inner=5e-3), air=Surroundings(orientation="vertical")
            ),
        ),
        (
            "square",
            ring(outline.rectangle(30e-3, 30e-3), 2e-3, 14e-3),
            plate(rectangle(30e-3, 30e-3), coil(outer=14e-3, inner=2e-3)),
        ),
        (
            "pocket",
            ring(outline.disc(30e-3), 5e-3, 14e-3, hole_radius=4e-3),
            plate(circle(15e-3), coil(outer=14e-3, inner=5e-3), cutouts=(circle(4e-3),)),
        ),
        (
            "base plate",
            ring(
                outline.disc(30e-3), 2e-3, 14e-3,
                bottom=rings.MountedPlate(
                    outline=outline.disc(50e-3), thickness=2e-3, conductivity=50.0, density=7850.0,
                    heat_capacity=470.0, contact=2e-4,
                ),
            ),
            plate(circle(15e-3), coil(outer=14e-3, inner=2e-3), bodies=(steel(circle(25e-3)),)),
        ),
    ],
    ids=lambda each: each if isinstance(each, str) else "",
)  # fmt: skip
def test_one_winding_in_the_middle_is_as_warm_as_by_rings(name, by_rings, board):
    assert rise(board, amperes(0.4)) == pytest.approx(by_rings, rel=0.02), name


def test_square_turns_lead_heat_into_their_corners():
    """Their middle is a little cooler than by rings, which have none."""
    by_rings = ring(outline.rectangle(30e-3, 30e-3), 4e-3 / np.sqrt(np.pi), 28e-3 / np.sqrt(np.pi))
    found = rise(
        plate(rectangle(30e-3, 30e-3), wound(rectangle(28e-3, 28e-3), rectangle(4e-3, 4e-3))), amperes(0.4)
    )
    assert found == pytest.approx(by_rings, rel=0.04)
    assert found[0] < by_rings[0]


def test_core_in_the_pocket_is_as_warm_as_by_rings():
    core = PocketCore(contact_area=2e-5, contact=2e-4, heat_capacity=1.0, surface_area=5e-4)
    board = plate(circle(15e-3), coil(outer=14e-3, inner=5e-3), cutouts=(circle(4e-3),))
    placed = replace(board, cores=(PlacedCore(name="rod", wall=circle(4e-3), core=core),))
    by_rings = ring(outline.disc(30e-3), 5e-3, 14e-3, hole_radius=4e-3, core=core)
    assert rise(placed, amperes(0.4)) == pytest.approx(by_rings, rel=0.02)


def strip(cell, length=60e-3, heated=15e-3, width=10e-3):
    """Rises along a strip heated evenly from its end on, W/m², and its places."""
    ohm = heated * width * 300.0
    outline = rectangle(length, width, (length / 2, 0.0))
    board = thin(outline, wound(rectangle(heated, width, (heated / 2, 0.0)), ohm=ohm))
    state = solved(board, amperes(1.0), cell)
    return state.x, state.field[0, 0] - AIR


def fin(x, length=60e-3, heated=15e-3):
    """Of the same in closed form: it and its slope go on where the heat ends, and no heat leaves its ends."""
    m = np.sqrt(20.0 / 1e-3)
    inside = 1 - np.sinh(m * (length - heated)) / np.sinh(m * length) * np.cosh(m * x)
    outside = np.sinh(m * heated) / np.sinh(m * length) * np.cosh(m * (length - x))
    return 300.0 / 20.0 * np.where(x < heated, inside, outside)


def test_strip_fades_as_a_fin():
    x, found = strip(1e-3)
    assert np.abs(found - fin(x)).max() < 3e-3 * fin(0.0)


def test_finer_cells_come_nearer_with_their_square():
    far = [np.abs(found - fin(x)).max() for x, found in (strip(2.5e-3), strip(1.25e-3), strip(0.625e-3))]
    assert 3.4 < far[0] / far[1] < 4.6
    assert 3.4 < far[1] / far[2] < 4.6


def test_heated_disc_is_bessels():
    """Carslaw and Jaeger's disc, heated out to half its radius; on square cells."""
    board = thin(circle(20e-3), wound(circle(10e-3), ohm=np.pi * 10e-3**2 * 300.0))
    state = solved(board, amperes(1.0), 0.8e-3)
    x, y = np.meshgrid(state.x, state.y)
    inside = np.isfinite(state.field[0]) & (np.hypot(x, y) < 19e-3)
    expected = heated_disc_rise(np.hypot(x, y)[inside], 10e-3, 20e-3, 300.0, 1e-3, 20.0)
    assert np.abs(state.field[0][inside] - AIR - expected).max() < 0.01 * expected.max()


def test_what_one_winding_does_to_another_the_other_does_to_it():
    """Mean rise at B for each watt at A: reciprocity of linear conduction, for unlike windings and a body."""
    board = linear(
        LONG,
        TWO[0],
        wound(turned(rectangle(24e-3, 6e-3), 0.6) + np.array([15e-3, 2e-3])),
        bodies=(steel(LONG, emissivity=0.0),),
    )
    by_first, by_second = solved(board, amperes(0.4)), solved(board, amperes(0.0, 0.7))
    assert (by_first.mean[1] - AIR) / by_first.power[0] == pytest.approx(
        (by_second.mean[0] - AIR) / by_second.power[1], rel=1e-9
    )


def test_linear_rises_add_up():
    board = linear(LONG, *TWO)
    each = [solved(board, drive).rise for drive in (amperes(0.4), amperes(0.0, 0.7), amperes(0.4, 0.7))]
    assert each[2] == pytest.approx(each[0] + each[1], rel=1e-9)


def test_windings_side_by_side_are_alike():
    state = solved(plate(LONG, *TWO), amperes(0.4, 0.4))
    assert state.hottest[0] == pytest.approx(state.hottest[1], rel=1e-5)
    assert state.field == pytest.approx(state.field[:, :, ::-1], rel=1e-3, nan_ok=True)


def test_neighbours_warm_one_another():
    board = plate(LONG, *TWO)
    both, one = solved(board, amperes(0.4, 0.4)), solved(board, amperes(0.4))
    assert one.hottest[0] + 1 < both.hottest[0]
    assert AIR < one.hottest[1] < one.hottest[0]


def test_windings_far_apart_are_each_as_if_alone():
    pair = plate(rectangle(160e-3, 30e-3), coil((-55e-3, 0.0)), coil((55e-3, 0.0)))
    alone = plate(rectangle(50e-3, 30e-3), coil())
    both = solved(pair, amperes(0.4, 0.25))
    assert both.hottest[0] - AIR == pytest.approx(rise(alone, amperes(0.4))[0], rel=0.01)
    assert both.hottest[1] - AIR == pytest.approx(rise(alone, amperes(0.25))[0], rel=0.01)


@pytest.mark.parametrize("angle", [0.5, np.pi / 2])
def test_a_turned_board_is_as_warm(angle):
    """Lying, where no way is up: within what the cells resolve."""
    shapes = (LONG, circle(9e-3, (-14e-3, 0.0)), rectangle(24e-3, 10e-3, (14e-3, 3e-3)))

    def board(by):
        return plate(turned(shapes[0], by), *(wound(turned(shape, by)) for shape in shapes[1:]))

    straight, found = (solved(board(by), amperes(0.4, 0.3)) for by in (0.0, angle))
    assert found.hottest - AIR == pytest.approx(straight.hottest - AIR, rel=0.01)


DRIVES = {
    "currents": amperes(0.4, 0.3, on=0.7),
    "voltages": volts(2.0, 1.5),
    "limited": volts(3.0, 1.5, current_limit=0.4),
    "in series": (Circuit(supply=Supply(voltage=4.0), windings=(0, 1)),),
}


@pytest.mark.parametrize("drive", DRIVES.values(), ids=DRIVES.keys())
def test_all_heat_made_is_lost(drive):
    board = plate(LONG, *TWO, bodies=(steel(rectangle(90e-3, 40e-3)),), cutouts=(circle(2e-3, (12e-3, 0.0)),))
    state = solved(board, drive)
    assert abs(imbalance(state)) < 1e-9
    share = np.array([0.7, 0.7]) if drive is DRIVES["currents"] else np.ones(2)
    assert state.power == pytest.approx(share * state.voltage * state.current)
    assert state.resistance == pytest.approx(5.0 * (1 + 0.00393 * (state.mean - 20.0)))


def test_drives_hold_what_they_promise():
    board = plate(LONG, *TWO)
    held = solved(board, DRIVES["voltages"])
    assert held.voltage == pytest.approx([2.0, 1.5])
    limited = solved(board, DRIVES["limited"])
    assert limited.current[0] == pytest.approx(0.4)
    assert limited.voltage[0] < 3.0
    series = solved(board, DRIVES["in series"])
    assert series.current[0] == pytest.approx(series.current[1])
    assert series.voltage.sum() == pytest.approx(4.0)


def test_still_air_takes_heat_from_each_side_by_its_facing():
    lying = solved(plate(LONG, *TWO), amperes(0.4, 0.4))
    over = solved(plate(LONG, *TWO, air=Surroundings(orientation="face-down")), amperes(0.4, 0.4))
    assert lying.convected["board bottom"] == pytest.approx(over.convected["board top"], rel=1e-6)
    assert lying.convected["board top"] < lying.convected["board bottom"]


def test_base_plate_cools_and_a_body_over_one_winding_cools_that_one():
    bare = solved(plate(LONG, *TWO), amperes(0.4, 0.4))
    based = solved(plate(LONG, *TWO, bodies=(steel(LONG),)), amperes(0.4, 0.4))
    capped = solved(
        plate(LONG, *TWO, bodies=(steel(circle(20e-3, (-30e-3, 0.0)), "top", "cap"),)), amperes(0.4, 0.4)
    )
    assert based.hottest.max() < bare.hottest.max() - 1
    assert capped.hottest[0] < bare.hottest[0] - 1
    assert capped.hottest[0] < capped.hottest[1] - 1
    assert AIR < capped.part_mean["cap"] < capped.hottest[0]


@pytest.mark.parametrize(("radius", "at"), [(1.5e-3, (12e-3, 0.0)), (3e-3, (1.0, 0.0))])
def test_a_body_over_a_cut_out_or_beside_the_board_takes_no_heat(radius, at):
    open_board = plate(LONG, *TWO, cutouts=(circle(2e-3, (12e-3, 0.0)),))
    lid = steel(circle(radius, at), "top", "lid", joined=False)
    lone = solved(open_board, amperes(0.4, 0.4))
    beside = solved(replace(open_board, bodies=(lid,)), amperes(0.4, 0.4))
    assert beside.part_mean["lid"] == pytest.approx(AIR, abs=1e-9)
    assert beside.hottest == pytest.approx(lone.hottest, rel=0.01)


def test_runaway_begins_where_the_hottest_copper_melts():
    board = plate_network(plate(LONG, *TWO))
    over = plate_steady_state(board, amperes(8.0, 4.0))
    assert isinstance(over, PlateRunaway)
    assert over.winding == 0
    assert over.current == pytest.approx([8.0 * over.factor, 4.0 * over.factor], rel=1e-6)
    below = plate_steady_state(board, amperes(*(0.99999 * over.current)))
    assert isinstance(below, PlateSteady)
    assert below.hottest[0] == pytest.approx(1084.62, abs=0.5)
    twice = plate_steady_state(board, amperes(*(2 * over.current)))
    assert isinstance(twice, PlateRunaway)
    assert twice.factor == pytest.approx(0.5, rel=1e-6)


def test_a_state_near_by_leads_to_the_same_as_no_state():
    board = plate_network(plate(LONG, *TWO))
    usual, more = plate_steady_state(board, volts(2.0, 1.0)), volts(2.3, 1.2)
    assert isinstance(usual, PlateSteady)
    led, found = plate_steady_state(board, more, near=usual), plate_steady_state(board, more)
    assert led.hottest == pytest.approx(found.hottest, rel=1e-9)
    melting = plate_steady_state(board, volts(200.0, 1.0), near=usual)
    assert isinstance(melting, PlateRunaway)


def test_factor_to_a_ceiling_leads_to_it():
    board = plate_network(plate(LONG, *TWO))
    over = plate_steady_state(board, volts(20.0, 10.0), 105.0)
    assert isinstance(over, PlateRunaway)
    state = plate_steady_state(board, volts(20.0 * over.factor, 10.0 * over.factor))
    assert state.hottest.max() == pytest.approx(105.0, abs=1e-6)


def test_ends_of_the_bands_stand_on_both_sides():
    air = Surroundings(convection_band=(0.8, 1.4))
    board = plate(LONG, *TWO, air=air, bodies=(steel(LONG, contact_band=(1e-4, 1e-3)),))
    peaks = [
        solved(bounded(board, **ends), amperes(0.4, 0.4)).hottest[0]
        for ends in ({"air": 1}, {"joints": 0}, {}, {"joints": 1}, {"air": 0})
    ]
    assert peaks == sorted(peaks)
    assert len(set(peaks)) == 5


@pytest.mark.parametrize(
    ("circuits", "says"),
    [
        ((), "in one circuit at most"),
        (amperes(0.4) + amperes(0.3), "in one circuit at most"),
        (amperes(0.0, 0.0, 0.4), "by their numbers"),
    ],
)
def test_circuits_name_windings_that_are_there(circuits, says):
    with pytest.raises(ValueError, match=says):
        plate_steady_state(plate_network(plate(LONG, *TWO)), circuits)
