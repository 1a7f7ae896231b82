"""Steady states: balance, closed forms, limits, monotonic in every resistance, facts of the trade."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from heat_cases import CONDUCTS_PERFECTLY, FILM, bare, board, imbalance, on_steel, steel
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from coilgen.physics.heat.balance import exact_film, lost_by_face
from coilgen.physics.heat.body import Assembly, Supply, Surroundings, bounded
from coilgen.physics.heat.lumped import rise_at_constant_current, rise_at_constant_voltage
from coilgen.physics.heat.network import network
from coilgen.physics.heat.steady import COPPER_MELTS, NoSteadyState, state_at_peak, steady_state
from coilgen.physics.heat.transient import warming

ROOM = Surroundings(convection_band=(0.8, 1.4))
FAN = Surroundings(ambient=20.0, forced_coefficient=30.0)


def solved(assembly, **supply):
    return steady_state(network(assembly), Supply(**supply))


def one_temperature(resistance=5.0):
    """A board that conducts perfectly and does not radiate, in a fan's wind: the closed forms hold."""
    wound = board(laminate=CONDUCTS_PERFECTLY, emissivity=0.0, resistance=resistance)
    net = network(Assembly(board=wound, surroundings=FAN))
    return net, 30.0 * net.face_area.sum()


@settings(max_examples=40)
@given(
    st.floats(0.05, 12),
    st.floats(6e-3, 60e-3),
    st.sampled_from(["face-up", "face-down", "vertical"]),
    st.floats(0, 1),
    st.floats(1e-5, 0.05),
    st.booleans(),
    st.integers(2, 6),
    st.floats(-40, 80),
)
def test_energy_balances(voltage, size, orientation, emissivity, contact, plated, layers, ambient):
    wound = board(diameter=size, inner=0.2 * size, outer=0.48 * size, layers=layers, emissivity=emissivity)
    plate = steel(side=1.5 * size, contact=contact, band=None) if plated else None
    surroundings = Surroundings(ambient=ambient, orientation=orientation)
    state = solved(Assembly(board=wound, surroundings=surroundings, top=plate), voltage=voltage)
    if isinstance(state, NoSteadyState):
        assert voltage > state.voltage
        return
    assert abs(imbalance(state)) < 1e-8  # rounding of what is conducted, of which little heat is a small part
    assert state.power == pytest.approx(voltage**2 / state.resistance)
    assert state.resistance == pytest.approx(5 * (1 + 0.00393 * (state.coil_mean - 20)))
    lost = sum(state.convected.values()) + sum(state.radiated.values())
    assert lost == pytest.approx(state.power, rel=1e-9)
    assert ambient < min(state.part_mean.values()) <= state.coil_peak
    assert state.coil_mean <= state.coil_peak


@given(st.floats(0.1, 15))
def test_constant_voltage_is_the_closed_form(voltage):
    net, conductance = one_temperature()
    state = steady_state(net, Supply(voltage=voltage), ceiling=1e5)
    assert state.coil_mean - 20 == pytest.approx(
        rise_at_constant_voltage(voltage, 5.0, conductance, 0.00393), rel=1e-5
    )


def runs_away(conductance):
    """Current, A, at which heat grows as fast as its loss: I² R0 alpha is the conductance."""
    return np.sqrt(conductance / (0.00393 * 5.0))


@given(st.floats(0.05, 0.95))
def test_constant_current_is_the_closed_form(share):
    net, conductance = one_temperature()
    current = share * runs_away(conductance)
    state = steady_state(net, Supply(current=current), ceiling=1e5)
    assert state.coil_mean - 20 == pytest.approx(
        rise_at_constant_current(current, 5.0, conductance, 0.00393), rel=1e-4
    )


@settings(max_examples=15)
@given(st.floats(0.5, 12), st.floats(0.05, 2.0))
def test_a_supply_that_gives_in_settles_as_the_lesser_of_its_two(voltage, limit):
    net = network(bare())
    both = steady_state(net, Supply(voltage=voltage, current_limit=limit))
    each = [steady_state(net, Supply(**one)) for one in ({"voltage": voltage}, {"current": limit})]
    peaks = [
        state.ceiling if isinstance(state, NoSteadyState) else state.coil_peak for state in (both, *each)
    ]
    assert peaks[0] == pytest.approx(min(peaks[1:]), abs=1e-4)


def test_supplies_that_mean_nothing_are_refused():
    for wrong in ({"current": 1.0, "current_limit": 2.0}, {"voltage": 1.0, "current_limit": 0.0}):
        with pytest.raises(ValueError, match="limit"):
            Supply(**wrong)


def test_runaway_begins_where_the_closed_form_says():
    net, conductance = one_temperature()
    begins = runs_away(conductance)
    state = steady_state(net, Supply(current=1.001 * begins), ceiling=1e7)
    assert isinstance(state, NoSteadyState)
    assert state.current == pytest.approx(begins, rel=1e-3)
    assert not isinstance(steady_state(net, Supply(current=0.999 * begins), ceiling=1e7), NoSteadyState)


def test_runaway_in_still_air_is_told_with_its_current():
    net = network(on_steel())
    state = steady_state(net, Supply(current=5.0))
    assert isinstance(state, NoSteadyState)
    assert state.ceiling == COPPER_MELTS
    just_under = steady_state(net, Supply(current=0.999 * state.current))
    assert COPPER_MELTS - 20 < just_under.coil_peak < COPPER_MELTS
    assert isinstance(steady_state(net, Supply(current=1.001 * state.current)), NoSteadyState)
    assert isinstance(steady_state(net, Supply(voltage=1.001 * state.voltage)), NoSteadyState)


@given(st.floats(40, 800), st.floats(0.05, 1))
def test_state_at_a_peak_is_the_steady_state_of_its_drive(peak, share):
    net = network(on_steel())
    state = state_at_peak(net, peak, share)
    assert state.coil_peak == pytest.approx(peak, abs=1e-6)
    assert abs(imbalance(state)) < 1e-9
    for supply in (
        Supply(voltage=state.voltage, on_share=share),
        Supply(current=state.current, on_share=share),
    ):
        again = steady_state(net, supply)
        assert again.coil_peak == pytest.approx(peak, abs=1e-5)
        assert again.resistance == pytest.approx(state.resistance)


def test_no_drive_reaches_a_peak_under_the_airs_temperature():
    with pytest.raises(ValueError, match="no colder"):
        state_at_peak(network(bare()), 25.0)


def test_without_a_supply_nothing_warms():
    state = solved(bare(), voltage=0.0)
    assert state.power == 0
    assert not any([*state.convected.values(), *state.radiated.values()])
    assert np.all(state.rise == 0)


@pytest.mark.parametrize("voltage", [1e-6, 1e-4, 0.01, 0.03, 0.1])
def test_faint_drives_warm_in_proportion_to_their_power(voltage):
    faint, twice = (solved(on_steel(), voltage=v) for v in (voltage, voltage * 2**0.5))
    assert abs(imbalance(faint)) < 1e-9
    assert 1.6 < (twice.coil_peak - 25) / (faint.coil_peak - 25) < 2.01
    assert 0 < faint.rise.max() < 1


def test_only_the_mean_power_counts_for_short_periods():
    half = solved(bare(), current=0.5, on_share=0.5)
    whole = solved(bare(), current=0.5 * 0.5**0.5)
    assert half.coil_peak == pytest.approx(whole.coil_peak)
    assert half.current == pytest.approx(0.5)


def test_a_block_of_copper_behind_the_board_is_only_cool():
    block = steel(side=0.6, thickness=0.3, conductivity=398.0, contact=5e-4, band=None)
    state = state_at_peak(network(on_steel(plate=block)), 45.0)
    assert state.coil_peak == pytest.approx(45.0)
    assert abs(imbalance(state)) < 1e-9


@pytest.mark.parametrize(
    ("emissivity", "air", "rise", "flux"),
    [(0.8, 24.85, 175.0, 998 / (np.pi * 0.07) - 15 * 175), (0.9, 20.0, 180.0, 12.1 * 180)],
)
def test_radiated_heat(emissivity, air, rise, flux):
    """Incropera's example 1.2, a steam pipe's 998 W/m less its convection; a board of 200 degC in a room."""
    net = network(bare(Surroundings(ambient=air), emissivity=emissivity))
    _, radiated = lost_by_face(net, np.full(len(net.capacity), rise), exact_film(net))
    assert radiated.sum() / net.face_area.sum() == pytest.approx(flux, rel=4e-3)


def test_no_radiation():
    mirror = solved(bare(emissivity=0.0), voltage=5.0)
    assert sum(mirror.radiated.values()) == 0
    assert mirror.coil_peak > solved(bare(), voltage=5.0).coil_peak


def test_joint_that_does_not_conduct_leaves_the_plate_cold():
    apart = on_steel(plate=steel(contact=1e6, band=None))
    state = solved(apart, voltage=5.0)
    assert state.part_mean["bottom"] == pytest.approx(25, abs=0.01)
    # The face under the plate is as good as gone.
    alone = network(bare())
    covered = np.array([name == "board bottom" for name in alone.faces])
    # The other's air is as beside the plate, which shares it with none.
    plated = network(apart)
    free = plated.shown.free[plated.faces.index("board top")]
    area, film = (np.where(covered[:, None], 1e-12, each) for each in (alone.face_area, alone.film_area))
    top = np.array([name == "board top" for name in alone.faces])
    shown = replace(alone.shown, free=np.where(top, free, alone.shown.free))
    alone = replace(alone, face_area=area, film_area=film, shown=shown)
    assert state.coil_peak == pytest.approx(steady_state(alone, Supply(voltage=5.0)).coil_peak, abs=0.01)


def test_joint_that_conducts_perfectly_is_the_limit_of_good_joints():
    peaks = [
        solved(on_steel(plate=steel(contact=contact, band=None)), voltage=5.0).coil_peak
        for contact in (1e-4, 1e-6, 1e-8, 0.0)
    ]
    assert peaks == sorted(peaks, reverse=True)
    assert peaks[2] == pytest.approx(peaks[3], abs=1e-3)


@settings(max_examples=40)
@given(
    st.floats(1, 6),
    st.floats(1e-5, 2e-2),
    st.sampled_from(
        [
            lambda a: _plate(a, contact=2 * a.bottom.contact),
            lambda a: _plate(a, conductivity=a.bottom.conductivity / 2),
            lambda a: _laminate(a, conductivity=a.board.laminate.conductivity / 2),
            lambda a: _laminate(a, conductivity_in_plane=a.board.laminate.conductivity_in_plane / 2),
            lambda a: replace(a, surroundings=Surroundings(forced_coefficient=10.0)),
        ]
    ),
)
def test_every_resistance_warms_the_coil(power, contact, worse):
    # Rayleigh's law of monotony: at a given heat, the mean where it is made rises with every resistance.
    # It holds for linear paths, so the film is a wind's and the faces hardly radiate.
    dull = on_steel(plate=steel(contact=contact, band=None))
    dull = _plate(replace(dull, board=replace(dull.board, emissivity=1e-9)), emissivity=1e-9)
    wind = Surroundings(forced_coefficient=20.0)
    assembly = replace(dull, surroundings=wind, temperature_coefficient=0.0)
    current = (power / 5) ** 0.5
    mean = [solved(each, current=current).coil_mean for each in (assembly, worse(assembly))]
    assert mean[1] > mean[0]


@settings(max_examples=20)
@given(
    st.floats(1, 6),
    st.sampled_from(
        [
            lambda a: _plate(a, emissivity=a.bottom.emissivity / 2),
            lambda a: replace(a, board=replace(a.board, emissivity=a.board.emissivity / 2)),
            lambda a: replace(
                a, surroundings=Surroundings(convection_factor=0.5, convection_band=(0.5, 1.0))
            ),
        ]
    ),
)
def test_worse_faces_warm_the_coil(power, worse):
    assembly = replace(on_steel(), temperature_coefficient=0.0)
    current = (power / 5) ** 0.5
    mean = [solved(each, current=current).coil_mean for each in (assembly, worse(assembly))]
    assert mean[1] > mean[0]


def _plate(assembly, **changes):
    return replace(assembly, bottom=replace(assembly.bottom, contact_band=None, **changes))


def _laminate(assembly, **changes):
    return replace(
        assembly, board=replace(assembly.board, laminate=replace(assembly.board.laminate, **changes))
    )


@given(st.floats(0.5, 10), st.floats(1.01, 1.5))
def test_more_voltage_is_hotter_and_more_than_the_cold_resistance(voltage, more):
    low, high = (solved(on_steel(), voltage=v) for v in (voltage, voltage * more))
    assert high.coil_peak > low.coil_peak
    assert high.resistance > low.resistance > 5.0


def test_band_holds_the_typical_state():
    assembly = on_steel(ROOM)
    peaks = [
        solved(each, voltage=6.0).coil_peak
        for each in (bounded(assembly, air=1, joints=0), assembly, bounded(assembly, air=0, joints=1))
    ]
    assert peaks == sorted(peaks)
    assert peaks[2] - peaks[0] > 15


def test_of_a_free_lying_board_the_lower_face_cools_more():
    state = solved(bare(laminate=CONDUCTS_PERFECTLY), voltage=5.0)
    assert state.convected["board bottom"] == pytest.approx(1.5 * state.convected["board top"], rel=0.02)


def test_a_board_on_a_wide_plate_has_its_free_face_for_itself():
    # Alone, without the warm air of the other face, upper and lower face are nearly alike.
    up = solved(on_steel(Surroundings(orientation="face-up"), steel(side=0.3)), voltage=5.0)
    down = solved(on_steel(Surroundings(orientation="face-down"), steel(side=0.3)), voltage=5.0)
    beside, other = (state.convected["board top"] / (state.part_mean["board"] - 25) for state in (up, down))
    free = solved(bare(), voltage=2.0)
    assert free.part_mean["board"] == pytest.approx(up.part_mean["board"], abs=15)
    assert beside > 1.5 * free.convected["board top"] / (free.part_mean["board"] - 25)
    assert beside == pytest.approx(other, rel=0.1)


def test_a_board_between_plates_wider_than_itself_has_no_face_of_its_own():
    both = Assembly(board=board(), surroundings=Surroundings(), top=steel(), bottom=steel())
    assert not any("board t" in face or "board b" in face for face in solved(both, voltage=5.0).convected)


def test_wide_hot_plates_leave_the_correlations_range():
    assert solved(bare(), voltage=5.0).in_range
    assert solved(bare(diameter=1.5e-3, inner=0.2e-3, outer=0.7e-3), voltage=0.3).in_range
    wide = on_steel(plate=steel(side=0.6, thickness=10e-3, conductivity=400.0))
    assert not solved(wide, voltage=15.0).in_range
    assert solved(replace(wide, surroundings=FAN), voltage=15.0).in_range


def test_plate_on_either_face_serves_alike_on_edge():
    upright = Surroundings(orientation="vertical")
    peaks = [
        solved(Assembly(board=board(), surroundings=upright, **{side: steel()}), voltage=5.0).coil_peak
        for side in ("top", "bottom")
    ]
    assert peaks[0] == pytest.approx(peaks[1], rel=1e-9)


def test_finer_rings_change_little(monkeypatch):
    peaks = []
    for rings in (8, 16, 32):
        monkeypatch.setattr("coilgen.physics.heat.rings.WINDING_RINGS", rings)
        peaks.append(solved(on_steel(), voltage=6.0).coil_peak)
    assert abs(peaks[0] - peaks[2]) < 0.5


# Common practice, no source: what tape and steel do to a hot coil. Geometry of our own: a thin flexible coil
# of 20 mm that a voltage drives to 275 degC, on a plate of oxidised steel (emissivity 0.5) of 4.5 times its
# area, both flat.


def hot_coil(joint=None, band=None):
    wound = board(laminate=FILM, thickness=0.05e-3)
    if joint is None:
        return Assembly(board=wound, surroundings=ROOM)
    plate = steel(side=(4.5 * np.pi * 1e-4) ** 0.5, contact=joint, band=band, emissivity=0.5)
    return Assembly(board=wound, surroundings=ROOM, bottom=plate)


@cache
def voltage_for_275_degc():
    return brentq(lambda v: solved(hot_coil(), voltage=v).coil_mean - 275, 1.0, 15.0)


def on_its_plate(joint, band):
    assembly = hot_coil(joint, band)
    each = (bounded(assembly, air=1, joints=0), assembly, bounded(assembly, air=0, joints=1))
    return [solved(bound, voltage=voltage_for_275_degc()).coil_mean for bound in each]


def test_mounting_tape_takes_a_third_off():
    low, typical, high = on_its_plate(2e-3, (1e-3, 4e-3))
    assert typical == pytest.approx(275 * 2 / 3, rel=0.1)
    assert low < 275 * 2 / 3 < high


def test_without_the_tape_it_settles_about_150():
    low, typical, high = on_its_plate(1e-4, (3e-5, 3e-4))
    assert typical == pytest.approx(150, rel=0.1)
    assert low < 150 < high


@pytest.mark.parametrize("current", [0.7, 1.0, 1.3])
@pytest.mark.parametrize("plated", [False, True])
def test_narrow_hot_windings_settle_where_the_transient_ends(current, plated):
    # So local a heat that Newton's method from an even start goes astray.
    wound = board(diameter=60e-3, inner=20e-3, outer=21e-3, thickness=0.1e-3, laminate=FILM)
    plate = steel(side=80e-3, contact=1e-2, band=None) if plated else None
    net = network(Assembly(board=wound, surroundings=Surroundings(), bottom=plate))
    state = steady_state(net, Supply(current=current))
    end = warming(net, Supply(current=current), 1e5)
    if plated and current == 1.3:
        assert isinstance(state, NoSteadyState)
        assert end.melted
        return
    assert abs(imbalance(state)) < 1e-9
    assert end.coil_peak[-1] == pytest.approx(state.coil_peak, abs=0.1)
