"""Figures of an array with a mover: laws between them, and other roads to the same values."""

import numpy as np
import pytest
from mover_designs import FAN, STAGE, case_with

from coilgen.figures.mover._machine import machine
from coilgen.figures.mover._magnets import magnets
from coilgen.figures.mover.speed import supplied
from coilgen.result.caution import fault_told
from coilgen.study.comparison_columns import columns_of
from coilgen.study.comparison_verdict import cannot
from coilgen.units import readable

SMALL_MAGNETS = {"winding__turns": 2, "mover__magnet__diameter": 6}
CONSTANTS = ("voltage_constant", "line_voltage_constant", "torque_constant")


@pytest.fixture(scope="module")
def fan():
    return case_with(FAN)


@pytest.fixture(scope="module")
def stage():
    return case_with(STAGE)


def test_torque_constant_is_half_the_phases_times_the_voltage_constant(fan):
    voltage, line, torque = (fan.figure(name) for name in CONSTANTS)
    assert torque.value == pytest.approx(1.5 * voltage.value, rel=1e-6)
    assert line.value == pytest.approx(np.sqrt(3) * voltage.value, rel=1e-6)
    assert (voltage.unit, torque.unit) == ("V s/rad", "N m/A")
    assert {"gap of the mover", "remanence"} <= {source for source, _, _ in voltage.contributions}
    assert fan.figure("thrust_constant") is None and fan.figure("force_against_position") is None


def test_thrust_constant_of_a_row_per_metre(stage):
    voltage, thrust = stage.figure("voltage_constant"), stage.figure("thrust_constant")
    assert (voltage.unit, thrust.unit) == ("V s/m", "N/A")
    assert thrust.value == pytest.approx(1.5 * voltage.value, rel=1e-6)
    rows = stage.figure("force_against_position")
    assert np.mean(rows.columns["per_ampere"]) == pytest.approx(thrust.value, rel=1e-3)
    assert np.mean(rows.columns["force"]) == pytest.approx(stage.value("stall_force"), rel=1e-3)


def test_a_star_s_supply_sees_what_its_terminals_measure():
    """Two phases share six steps; on thin joints one to the middle of the star point is more than half."""
    thin = {"array__coils": "parallel", "array__joint_width": 0.15, "winding__trace_width": 0.5}
    found = case_with(FAN, **thin, winding__turns=3, drive__waveform="six-step")
    line = float(np.mean(found.value("line_resistance")))
    assert np.mean(found.value("phase_resistance")) > 1.02 * line / 2
    held = found.value("torque_against_speed")[0]
    assert held["current"] * line == pytest.approx(6.0, rel=1e-6)
    # The joints' heat is that of balanced sinusoids, whose currents meet otherwise in the star point's track.
    assert found.value("power") == pytest.approx(6.0**2 / line, rel=0.03)


def test_a_coil_is_switched_off_at_its_phases_amplitude(stage):
    """Its heat goes with the root mean square, the energy that it holds at worst with the amplitude."""
    coil = stage.windings[0].case
    assert coil.value("current") == pytest.approx(0.5 / np.sqrt(2))
    assert coil.value("stored_energy") == pytest.approx(0.5 * coil.value("inductance") * 0.5**2)
    assert "500 mA" in coil.figure("switch_off_time").model
    assert any("500 mA" in line for line in coil.figure("switch_off_voltage").cautions)


def test_instantaneous_torque_is_the_force_of_the_magnets_field_on_the_coils(fan):
    """I dl x B on every coil, each phase at its current, in magpylib's field."""
    import magpylib
    from mover_cases import field_of, points_along, stepped, turned_points

    from coilgen.figures.several._linkage import CHORDS, path_of

    found, number = machine(fan), 100
    angle = float(found.voltages.places[number])
    currents = np.array([1.0, -0.3, -0.7])
    poles = [
        magpylib.magnet.Cylinder(
            polarization=(0, 0, 1.32 * (1 - 2 * (k % 2))), dimension=(9e-3, 3e-3), position=(13e-3, 0, 3e-3)
        ).rotate_from_angax(90.0 * k, "z", anchor=0)
        for k in range(4)
    ]
    total = 0.0
    for coil, winding in zip(fan.design.array.connected, fan.windings, strict=True):
        path = stepped(path_of(fan, winding, CHORDS))
        at, step = points_along(path, 16)
        seen = turned_points(at, -angle)
        field = field_of(poles, seen)
        share = np.repeat(path.shares, 16)[:, None]
        torque = np.sum(share * np.sum(at[:, :2] * step[:, :2], axis=1)[:, None] * field[:, 2:])
        torque -= np.sum(share * step[:, 2:] * np.sum(seen[:, :2] * field[:, :2], axis=1)[:, None])
        total += currents[coil.phase] * coil.sense * float(torque)
    assert float(currents @ found.voltages.slopes[:, number]) == pytest.approx(total, rel=1e-6)


def test_joints_tracks_take_part_in_the_band(fan):
    """The potential along tracks that finds their voltages finds those of the coils too."""
    from coilgen.figures.mover import _joints
    from coilgen.figures.mover._machine import BARE, dealt
    from coilgen.figures.mover._magnets import magnets
    from coilgen.figures.several._linkage import CHORDS, path_of
    from coilgen.physics.field.filaments import refined

    parts, counted = [], []
    for number, winding in enumerate(fan.windings):
        path = refined(path_of(fan, winding, CHORDS), 5e-4)
        for height in np.unique(path.start[:, 2]):
            on = path.start[:, 2] == height
            step = (path.end - path.start)[on, :2]
            parts.append((path.start[on, :2] + 0.5 * step, step, float(height)))
            counted.append(dealt(fan)[:, number])
    found, voltages = magnets(fan, BARE), machine(fan).voltages
    place, step = float(voltages.places[100]), 1e-4
    change = [_joints._flux(fan, found, parts, place + by) for by in (step, -step)]
    slopes = (change[0] - change[1]) @ np.array(counted) / (2 * step)
    assert slopes == pytest.approx(voltages.slopes[:, 100], rel=5e-3)
    share = _joints.joints_share(fan)
    assert 1e-4 < share < 0.03
    assert "tracks of joints" in {source for source, _, _ in fan.figure("voltage_constant").contributions}


def test_winding_factor_is_distribution_times_pitch(fan):
    found = machine(fan)
    assert found.distribution == pytest.approx(1.0)
    assert fan.value("winding_factor") == pytest.approx(found.distribution * found.pitch)
    assert 0.4 < found.pitch < np.sin(np.pi / 3)


def test_voltages_of_phases_and_their_harmonics(fan):
    rows = fan.figure("voltage_against_angle")
    phases = np.array([rows.columns[letter] for letter in "ABC"])
    first, third = np.fft.rfft(phases)[:, [1, 3]].T
    assert abs(first.sum()) < 1e-6 * abs(first[0])
    assert abs(third.sum()) == pytest.approx(3 * abs(third[0]))
    harmonics = fan.figure("voltage_harmonics").columns
    assert harmonics["phase"][0] == 1.0 and harmonics["line"][1] < 1e-6 < harmonics["phase"][1]


def test_speed_torque_and_efficiency_at_the_supply(fan):
    table = fan.figure("torque_against_speed").columns
    assert table["torque"][0] == pytest.approx(fan.value("stall_torque"))
    assert table["speed"][-1] == pytest.approx(fan.value("no_load_speed"))
    assert abs(table["torque"][-1]) < 1e-6 * table["torque"][0]
    ideal = 6 / np.sqrt(3) / fan.value("voltage_constant")
    assert 0.9 * ideal < fan.value("no_load_speed") <= ideal
    assert max(table["efficiency"]) == pytest.approx(fan.value("best_efficiency"))
    drag = supplied(fan).drag
    assert fan.value("track_eddy_loss") == pytest.approx(drag * fan.value("no_load_speed") ** 2)
    low, high = fan.figure("no_load_speed").band
    assert low < fan.value("no_load_speed") < high


def test_a_held_current_has_no_speeds(stage):
    for name in ("no_load_speed", "force_against_speed", "best_efficiency", "stall_torque"):
        assert stage.figure(name) is None


@pytest.mark.parametrize(
    ("tables", "changes", "where"),
    [
        (FAN, {"array__phases": 1, "array__connection": "open"}, "falls to 0 % of its mean at "),
        (STAGE, {"array__pitch": 12}, "falls to 0 % of its mean at "),
        (STAGE, {}, None),
    ],
)
def test_places_from_which_currents_do_not_start_the_mover_are_a_warning(tables, changes, where):
    """One phase has them, and so have three whose coils stand a pole apart: their voltages are all alike."""
    case = case_with(tables, **changes)
    found = case.figure("torque_ripple")
    assert [where in each for each in found.cautions] == ([True] if where else [])
    assert bool(fault_told(found.cautions)) == bool(where)
    assert any(each.startswith("cannot start from every place: 0 %") for each in cannot(case)) == bool(where)


def test_six_steps_ripple_and_delta():
    sines, steps = case_with(FAN), case_with(FAN, drive__waveform="six-step")
    assert steps.value("torque_ripple") > 2 * sines.value("torque_ripple")
    assert steps.value("torque_constant") == pytest.approx(sines.value("torque_constant"))
    assert steps.value("stall_torque") == pytest.approx(
        np.mean(steps.figure("torque_against_angle").columns["torque"]), rel=0.01
    )
    either = sines.figure("torque_against_angle").columns
    assert np.array_equal(either["per_ampere"], either["sinusoidal"])
    own = steps.figure("torque_against_angle").columns["per_ampere"]
    assert np.array_equal(either["six_step"], own)
    delta = case_with(FAN, array__connection="delta")
    assert delta.value("line_voltage_constant") == delta.value("voltage_constant")
    faster = np.sqrt(3) * sines.value("no_load_speed")
    assert delta.value("no_load_speed") == pytest.approx(faster, rel=0.02)


def test_a_back_plate_and_a_second_half_add_flux_and_the_halves_draw_each_other():
    plain, plate = case_with(FAN), case_with(FAN, mover__back_plate={"thickness": 3})
    both = case_with(FAN, mover__place="both")
    first, second, third = (each.value("voltage_constant") for each in (plain, plate, both))
    assert first < second < 2 * first and third > 1.2 * first
    assert plain.figure("mover_attraction") is None
    pull = both.figure("mover_attraction")
    assert pull.value > 0 and pull.band[0] < pull.value < pull.band[1]
    assert any(each.startswith("Warning") for each in pull.cautions)
    assert "model of iron plates" in {
        source for source, _, _ in plate.figure("voltage_constant").contributions
    }


def test_a_stator_plate_is_drawn_and_cautioned_about():
    core = [{"form": "disc", "diameter": 44, "thickness": 1, "place": "bottom"}]
    found = case_with(FAN, core=core)
    assert found.value("mover_attraction") > 1.0
    told = " ".join(found.figure("voltage_constant").cautions)
    assert "Eddy currents and hysteresis" in told and "feeds voltage back" in told and "pinch" in told


def test_a_thin_back_plate_saturates():
    thin = case_with(FAN, mover__back_plate={"thickness": 0.3})
    assert any("saturates" in each for each in thin.figure("voltage_constant").cautions)
    thick = case_with(FAN, mover__back_plate={"thickness": 6})
    assert not any("saturates" in each for each in thick.figure("voltage_constant").cautions)


def test_a_thin_plate_behind_the_coils_saturates():
    for thickness, told in ((0.2, True), (5, False)):
        core = [{"form": "disc", "diameter": 44, "thickness": thickness, "place": "bottom"}]
        cautions = case_with(FAN, core=core).figure("voltage_constant").cautions
        assert any("stator's plate would carry" in each for each in cautions) == told


def test_parallel_coils_halve_the_voltage():
    series, parallel = case_with(FAN), case_with(FAN, array__coils="parallel")
    assert parallel.value("voltage_constant") == pytest.approx(series.value("voltage_constant") / 2)


def test_magnets_below_are_those_above_seen_from_below(stage):
    below = case_with(STAGE, mover__place="bottom")
    assert magnets(below).sheets[0][1] == pytest.approx(-below.design.board.stackup.thickness - 1.5e-3)
    assert below.value("voltage_constant") == pytest.approx(stage.value("voltage_constant"), rel=0.02)


def test_phases_that_cancel_tell_no_speeds_and_one_sentence_why():
    """Nine coils and eight poles dealt in turn sum to nothing."""
    found = case_with(FAN, array__count=9, array__phase_order="ABCABCABC", mover__poles=8, **SMALL_MAGNETS)
    for name in ("no_load_speed", "best_efficiency", "torque_against_speed", "torque_ripple"):
        assert found.figure(name) is None
    (told,) = [each for each in found.figure("voltage_constant").cautions if "left out, as these" in each]
    assert "coils of a phase cancel" in told
    assert fault_told([told]) == "its currents hardly move the mover"
    assert "cannot move the mover: the voltages of its coils cancel" in cannot(found)
    assert any("AaABbBCcC" in note for note in found.design.notes)


@pytest.mark.parametrize("coils", ["series", "parallel"])
def test_a_coils_current_says_that_it_is_effective_and_tells_the_amplitude_that_makes_torque(coils):
    case = case_with(FAN, array__coils=coils)
    told = case.windings[0].case.figure("current")
    assert told.says.startswith("root mean square")
    side_by_side = 2 if coils == "parallel" else 1  # six coils in three phases
    amplitude = np.sqrt(2) * side_by_side * told.value
    assert (
        f"The phase's amplitude, with which torque_constant goes, is {readable(amplitude, 'A')}" in told.model
    )
    # the joints' share of the voltage is told of the coils, their resistance counts in the phases' current
    torque = case.value("torque_constant") * amplitude
    assert torque == pytest.approx(case.value("stall_torque"), rel=1e-2)
    assert "root mean square" in case.figure("winding_currents").says
    current = next(column for column in columns_of([case.design]) if column.name == "coils.current")
    assert current.head == "I coil, rms"
    assert current.read(case) == told.value


def test_without_a_mover_a_coils_current_is_that_of_its_drive():
    case = case_with(FAN, mover=None)
    assert "root mean square" not in case.windings[0].case.figure("current").says
    assert "I coil" in {column.head for column in columns_of([case.design])}


@pytest.mark.parametrize("pitch", [20, 45])
def test_how_far_one_magnet_of_a_mover_reaches_is_its_own(pitch):
    """Against magpylib's closed form of a disc, and of it with its image in an iron plate."""
    import magpylib

    disc = {"form": "disc", "diameter": 8, "thickness": 3, "remanence": "1.3 T"}
    changes = {"mover__magnet": disc, "mover__pitch": pitch, "mover__back_plate": {"thickness": 2}}
    told = " ".join(case_with(STAGE, **changes).figure("voltage_constant").cautions)
    assert "over 0.5 mT up to about 40 mm, 50 mm on its iron plate" in told
    for tall, reach in ((3e-3, 40e-3), (6e-3, 50e-3)):
        magnet = magpylib.magnet.Cylinder(polarization=(0, 0, 1.3), dimension=(8e-3, tall))
        assert magnet.getB((0, 0, reach))[2] == pytest.approx(5e-4, rel=0.04)
