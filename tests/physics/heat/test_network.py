"""The network keeps areas, heat capacity, resistance; its conduction converges to closed forms."""

from dataclasses import replace

import numpy as np
import pytest
from heat_cases import CONDUCTS_PERFECTLY, bare, board, on_steel, steel
from hypothesis import given
from hypothesis import strategies as st
from round_sheets import annular_fin_conductance, heated_disc_rise

from coilgen.physics.heat import rings as heat_rings
from coilgen.physics.heat.body import (
    Assembly,
    CopperLayer,
    PocketCore,
    Supply,
    Surroundings,
)
from coilgen.physics.heat.network import network
from coilgen.physics.heat.outline import disc
from coilgen.physics.heat.steady import steady_state

boards = st.builds(
    lambda size, inner, outer, layers, hole: board(
        diameter=size,
        inner=inner * size / 2,
        outer=(inner + (1 - inner) * outer) * size / 2,
        layers=layers,
        hole_radius=hole * inner * size / 2,
    ),
    st.floats(5e-3, 0.1),
    st.floats(0.0, 0.9),
    st.floats(0.1, 1.0),
    st.integers(2, 8),
    st.floats(0.0, 1.0),
)


@given(boards, st.floats(2e-3, 0.3), st.sampled_from(["top", "bottom"]))
def test_areas_capacity_and_resistance_are_the_bodys(wound, side, where):
    plate = steel(side=side)
    net = network(Assembly(board=wound, surroundings=Surroundings(), **{where: plate}))
    board_area = wound.outline.area - np.pi * wound.hole_radius**2
    shown = dict(zip(net.faces, net.face_area.sum(axis=1), strict=True))
    other = "bottom" if where == "top" else "top"
    assert shown[f"board {other}"] == pytest.approx(board_area, rel=1e-4)
    assert shown[f"{where} plate"] == pytest.approx(plate.outline.area)
    whole = np.pi * wound.hole_radius**2
    covered = min(plate.outline.area, wound.outline.area) - min(plate.outline.area, whole)
    assert shown.get(f"board {where}", 0.0) == pytest.approx(
        board_area - covered, rel=1e-4, abs=1e-4 * board_area
    )
    assert net.resistance_20c.sum() == pytest.approx(5.0)
    steel_capacity = net.capacity[net.parts[where]].sum()
    assert steel_capacity == pytest.approx(plate.outline.area * 2e-3 * 7850 * 470)


@given(boards)
def test_conductances_join_and_make_no_heat(wound):
    net = network(Assembly(board=wound, surroundings=Surroundings(), bottom=steel()))
    assert np.allclose(net.conductance, net.conductance.T, atol=0)
    assert np.abs(net.conductance.sum(axis=1)).max() < 1e-9 * np.abs(net.conductance).max()
    assert np.all(net.conductance - np.diag(np.diag(net.conductance)) <= 0)


def test_board_capacity_of_hand():
    net = network(bare())
    laminate = np.pi * 1e-4 * 0.8e-3 * 1850 * 1100
    copper = np.pi * (9.5e-3**2 - 3e-3**2) * 2 * 35e-6 * 0.5 * 8890 * 385
    assert net.capacity.sum() == pytest.approx(laminate + copper)


def test_stack_conducts_as_its_slabs_in_series():
    # Heat made in the top layer alone crosses dielectric, contact and half the plate: rise = flux times sum.
    top = CopperLayer(thickness=35e-6, coverage=1.0, resistance_20c=5.0)
    wound = replace(
        board(inner=0.0, outer=10e-3, layers=2),
        layers=(top, CopperLayer(thickness=0.0)),
        emissivity=0.0,
    )
    plate = replace(steel(contact=2e-3, conductivity=1e5, emissivity=0.0), outline=disc(20e-3))
    still = Surroundings(forced_coefficient=1e-6)
    net = network(Assembly(board=wound, surroundings=still, bottom=plate, temperature_coefficient=0.0))
    # A fan on the plate's lower face alone: the other faces are made next to adiabatic by their area.
    only = np.array([name == "bottom plate" for name in net.faces])
    net = _faces_cut(net, np.where(only[:, None], net.face_area, 1e-12), forced_coefficient=1e3)
    state = steady_state(net, Supply(current=0.1))
    flux = 0.05 / (np.pi * 1e-4)
    drop = flux * (0.8e-3 / 0.3 + 2e-3 + 1e-3 / 1e5)
    assert state.coil_mean - state.part_mean["bottom"] == pytest.approx(drop, rel=1e-6)
    assert state.part_mean["bottom"] - 25 == pytest.approx(flux / 1e3, rel=1e-6)


def _sheet_board(emissivity=0.0):
    """Two thin layers on a thin board: one sheet of heat, as the closed forms have it."""
    layers = (CopperLayer(thickness=0.0, resistance_20c=2.5),) * 2
    return replace(
        board(inner=0.0, outer=8e-3, diameter=30e-3, thickness=0.8e-3, emissivity=emissivity),
        layers=layers,
    )


def _sheet_state(rings, monkeypatch):
    monkeypatch.setattr(heat_rings, "WINDING_RINGS", rings)
    assembly = Assembly(
        board=_sheet_board(),
        surroundings=Surroundings(forced_coefficient=20.0),
        temperature_coefficient=0.0,
    )
    net = network(assembly)
    net = _faces_cut(net, np.where(_rims(net)[:, None], 1e-15, net.face_area))
    return net, steady_state(net, Supply(current=0.4))


def _faces_cut(net, area, **more):
    return replace(net, face_area=area, film_area=area, **more)


def _rims(net):
    return np.array(["rim" in name for name in net.faces])


def test_heated_disc_converges_to_its_closed_form(monkeypatch):
    flux, sheet = 0.16 * 5 / (np.pi * 64e-6), 0.8 * 0.8e-3
    off = []
    for rings in (8, 16, 32):
        net, state = _sheet_state(rings, monkeypatch)
        exact = heated_disc_rise(net.radius, 8e-3, 15e-3, flux, sheet, 40.0)
        off.append(np.abs(state.rise - exact).max() / exact.max())
        assert np.max(state.rise) == pytest.approx(
            heated_disc_rise(0.0, 8e-3, 15e-3, flux, sheet, 40.0), rel=0.02
        )
    assert off[0] < 0.02
    assert off[2] < off[1] / 3 < off[0] / 9


def test_rim_takes_the_heat_of_an_annular_fin(monkeypatch):
    net, state = _sheet_state(16, monkeypatch)
    rim = net.radius > 8e-3
    lost = (40.0 * state.rise * net.face_area.sum(axis=0) / 2)[rim].sum()
    edge = heated_disc_rise(8e-3, 8e-3, 15e-3, 0.16 * 5 / (np.pi * 64e-6), 0.8 * 0.8e-3, 40.0)
    fin = annular_fin_conductance(8e-3, 15e-3, 0.8 * 0.8e-3, 40.0)
    assert lost == pytest.approx(fin * edge, rel=0.01)


def test_body_that_conducts_perfectly_has_one_temperature():
    plate = steel(contact=0.0, band=(0.0, 0.0), conductivity=1e7)
    net = network(on_steel(laminate=CONDUCTS_PERFECTLY, plate=plate))
    state = steady_state(net, Supply(voltage=5.0))
    assert np.ptp(state.rise) < 1e-3 * state.rise.max()


def test_core_in_the_pocket_is_warmed_and_cools():
    core = PocketCore(contact_area=3e-5, contact=1e-4, heat_capacity=2.0, surface_area=4e-4)
    plain = bare(hole_radius=2.5e-3)
    without = steady_state(network(plain), Supply(voltage=5.0))
    state = steady_state(network(replace(plain, core=core)), Supply(voltage=5.0))
    assert 25 < state.part_mean["core"] < state.coil_peak < without.coil_peak
    assert state.convected["core"] > 0


def test_a_core_that_plates_cover_is_as_warm_as_the_wall_about_it():
    covered = PocketCore(contact_area=3e-5, contact=1e-4, heat_capacity=2.0, surface_area=0.0)
    open_a_little = replace(covered, surface_area=1e-12)
    shut, ajar = (
        steady_state(network(replace(bare(hole_radius=2.5e-3), core=core)), Supply(voltage=5.0))
        for core in (covered, open_a_little)
    )
    assert "core" not in shut.convected
    assert shut.part_mean["core"] == pytest.approx(ajar.part_mean["core"], rel=1e-6)


def test_poured_copper_round_the_winding_spreads_the_heat():
    plain = board(diameter=40e-3)
    poured = replace(plain, layers=tuple(replace(each, pour_coverage=0.9) for each in plain.layers))
    peaks = [
        steady_state(
            network(Assembly(board=each, surroundings=Surroundings())), Supply(voltage=5.0)
        ).coil_peak
        for each in (plain, poured)
    ]
    assert peaks[1] < peaks[0] - 10


def test_film_counts_the_whole_face_and_more_of_its_rim():
    net = network(bare(inner=0.0))
    flat = np.array([name in ("board top", "board bottom") for name in net.faces])
    assert net.film_area.sum(axis=1) == pytest.approx(net.face_area.sum(axis=1))
    area, film = net.face_area[flat][0], net.film_area[flat][0]
    growth = film[area > 0] / area[area > 0]
    assert np.all(np.diff(growth) > 0)
    assert growth[0] == pytest.approx(2 / 3, rel=0.01)
    wind = network(bare(Surroundings(forced_coefficient=20.0)))
    assert np.array_equal(wind.film_area, wind.face_area)


def _islands(coverage):
    plain = board(diameter=40e-3, thickness=0.2e-3)
    layers = tuple(replace(each, island_coverage=coverage) for each in plain.layers)
    net = network(Assembly(board=replace(plain, layers=layers), surroundings=Surroundings()))
    return steady_state(net, Supply(voltage=3.0)).coil_peak, net.capacity.sum()


def test_pads_that_do_not_touch_hardly_spread_the_heat():
    (none, light), (few, heavier) = _islands(0.0), _islands(0.024)
    assert none - 0.3 < few < none
    assert heavier > light
