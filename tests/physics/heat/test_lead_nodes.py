"""Leads with a strip of board round them: against fins of handbooks and cross-sections."""

import math
from dataclasses import replace

import pytest
from heat_cases import EPOXY_GLASS, FILM, imbalance
from strip_section import Section

from coilgen.physics.heat.body import Assembly, CopperLayer, Supply, Surroundings, WoundBoard
from coilgen.physics.heat.lead_body import Lead, Leads, Stiff, Stretch, Strip
from coilgen.physics.heat.lead_parts import edge_resistance
from coilgen.physics.heat.network import network
from coilgen.physics.heat.outline import disc, rectangle
from coilgen.physics.heat.steady import steady_state
from coilgen.physics.heat.transient import warming

MM, COPPER, H = 1e-3, 35e-6, 10.0
COVERS = (50e-6, 50e-6)


def lead(edges, layer=0, *, length, heat, near=()):
    width = edges[1] - edges[0]
    far = Stretch(length=length, width=width, thickness=COPPER, layer=layer, resistance_20c=heat * length)
    return Lead(near=near, far=(far,), across=sum(edges) / 2)


def whole(leads, width, *, length, dielectric=(25e-6,), covers=COVERS, laminate=FILM, stiff=()):
    """A network whose ampere makes what the leads make and next to nothing in the winding; linear."""
    strip = Strip(length=length, width=width, outline=rectangle(width, length), stiff=stiff)
    board = WoundBoard(
        outline=disc(20e-3),
        winding_inner_radius=3e-3,
        winding_outer_radius=9.5e-3,
        layers=(CopperLayer(thickness=COPPER, coverage=0.5, resistance_20c=1e-6),) * (len(dielectric) + 1),
        dielectric=dielectric,
        laminate=laminate,
        emissivity=0.0,
    )
    return network(
        Assembly(
            board=board,
            surroundings=Surroundings(ambient=20.0, forced_coefficient=H),
            leads=Leads(leads=tuple(leads), strip=strip, covers=covers),
            temperature_coefficient=0.0,
        )
    )


def settled(net):
    return steady_state(net, Supply(current=1.0))


PAIR = ((-0.775 * MM, -0.625 * MM), (0.625 * MM, 0.775 * MM))
CLOSE = ((-0.175 * MM, -0.075 * MM), (0.075 * MM, 0.175 * MM))
BROAD = ((-1.2 * MM, -0.2 * MM), (0.2 * MM, 1.2 * MM))
APART = ((-1.075 * MM, -0.925 * MM), (0.925 * MM, 1.075 * MM))
SECTIONS = {
    "pair": (3 * MM, PAIR, (0, 0), (25e-6,), COVERS, FILM),
    "close pair": (3 * MM, CLOSE, (0, 0), (25e-6,), COVERS, FILM),
    "above one another": (3 * MM, ((-0.075 * MM, 0.075 * MM),) * 2, (0, 1), (25e-6,), COVERS, FILM),
    "broad": (3 * MM, BROAD, (0, 0), (25e-6,), COVERS, FILM),
    "one on a broad tail": (10 * MM, ((-0.1 * MM, 0.1 * MM),), (0,), (25e-6,), COVERS, FILM),
    "rigid": (6 * MM, APART, (0, 0), (1.5e-3,), (25e-6, 25e-6),
              EPOXY_GLASS),
}  # fmt: skip


def section(name, **more):
    width, leads, layers, dielectric, covers, laminate = SECTIONS[name]
    depths = [covers[0] + sum(dielectric[:layer]) for layer in layers]
    thickness = sum(dielectric) + sum(covers)
    cell = 2.5e-6 if thickness < 3e-4 else 25e-6
    return Section(width, leads, depths, thickness, laminate, H, cell=cell, **more)


def long(name, length=0.5):
    width, leads, layers, dielectric, covers, laminate = SECTIONS[name]
    made = [lead(edges, layer, length=length, heat=1.0) for edges, layer in zip(leads, layers, strict=True)]
    return whole(made, width, length=length, dielectric=dielectric, covers=covers, laminate=laminate)


@pytest.mark.parametrize("name", SECTIONS)
def test_long_strips_are_as_warm_as_their_cross_section(name):
    """Within 5 %, and not cooler by more than 1 %."""
    assert settled(long(name)).coil_peak - 20 == pytest.approx(section(name).settled(1.0), rel=0.05)
    assert settled(long(name)).coil_peak - 20 > 0.99 * section(name).settled(1.0)


def test_a_line_on_an_endless_sheet_is_a_fin_on_both_sides():
    """q / (2 sqrt(2 h k t)) (Incropera and DeWitt, Fundamentals of Heat and Mass Transfer, endless fins), and
    the edges' constriction on both sides."""
    width, sheet = 0.1 * MM, FILM.conductivity_in_plane * 125e-6
    net = whole([lead((-width / 2, width / 2), length=0.5, heat=1.0)], 12 * MM, length=0.5)
    parts = ((0.4, 50e-6), (0.6, 75e-6))
    edges = sum(share**2 * edge_resistance(width, part, FILM) for share, part in parts) / 2
    expected = 1 / (2 * math.sqrt(2 * H * sheet)) + edges
    assert settled(net).coil_peak - 20 == pytest.approx(expected, rel=0.05)


def test_copper_is_a_fin_from_the_winding_on():
    """No board beside the lead: rise = endless - (endless - root) / cosh(m L) (same book, adiabatic tip)."""
    width, length = 1 * MM, 30 * MM
    net = whole([lead((-width / 2, width / 2), length=length, heat=2.0)], width, length=length)
    state = settled(net)
    root = state.rise[net.parts["board"]][net.coil[net.parts["board"]]][7]
    endless = 2.0 / (2 * H * width)
    conducts = 398.0 * COPPER * width + FILM.conductivity_in_plane * 125e-6 * width
    m = math.sqrt(2 * H * width / conducts)
    expected = endless - (endless - root) / math.cosh(m * length)
    assert state.coil_peak - 20 == pytest.approx(expected, rel=0.02)


def test_edges_of_narrow_and_of_wide_strips():
    even = replace(FILM, conductivity=0.2)
    assert edge_resistance(1.0, 1e-4, even) == pytest.approx(2 * math.log(2) / (math.pi * 0.2))
    assert edge_resistance(1e-7, 1e-4, even, passing=True) == pytest.approx(1e-7 / (2 * 0.2 * 1e-4), rel=1e-3)


def test_heat_made_is_lost_and_leads_count_in_the_resistance():
    net = long("pair", length=0.03)
    state = settled(net)
    assert imbalance(state) == pytest.approx(0.0, abs=1e-9)
    assert state.resistance == pytest.approx(0.06 + 2e-6)
    assert set(net.parts) == {"board", "leads", "strip"}


def test_a_stiffener_spreads_heat():
    made = [lead(edges, length=30 * MM, heat=1.0) for edges in PAIR]
    stiff = (Stiff(start=0.0, end=30 * MM, sheet=0.5e-3 * 0.8, capacity=900.0),)
    bare, spread = (settled(whole(made, 3 * MM, length=30 * MM, stiff=each)) for each in ((), stiff))
    assert spread.coil_peak < bare.coil_peak - 1
    assert spread.coil_peak - 20 > 2.0 / (2 * H * 3 * MM) * 0.5


@pytest.mark.parametrize(("time", "most"), [(0.005, 2.0), (0.05, 2.5), (5.0, 1.08)])
@pytest.mark.parametrize("name", ["pair", "above one another", "rigid"])
def test_pulses_warm_leads_no_less_than_their_cross_section(name, time, most):
    """Nor more than copper that keeps all its heat; laminate close to it takes some that the cells leave."""
    edges = SECTIONS[name][1][0]
    capacity = (edges[1] - edges[0]) * COPPER * 8890 * 385
    expected = section(name, across=25e-6).after(10.0, time, SECTIONS[name][-1], capacity)
    net = long(name)
    net = replace(net, resistance_20c=10 * net.resistance_20c)
    found = float(warming(net, Supply(current=1.0), time).coil_peak[-1]) - 20
    assert 0.98 * expected < found < min(most * expected, 10.0 * time / capacity)


def test_a_strip_is_asked_for():
    with pytest.raises(ValueError, match="strip"):
        Leads(leads=(lead((0.0, 1e-4), length=0.01, heat=1.0),), strip=None)
