"""Two boards in any place: laws of couplings, forces and torques, and boards of several windings."""

import numpy as np
import pytest
from board_designs import board, winding
from small_design import SMALL

from coilgen.design.reading import read_text
from coilgen.study.facing import case_of, pair

MU0 = 4e-7 * np.pi
OTHER = SMALL.replace('"small"', '"other"').replace("turns = 3", "turns = 2")
CURRENTS = (0.7, 0.4)


@pytest.fixture(scope="module")
def small():
    return case_of(read_text(SMALL + f"[drive]\ncurrent = {CURRENTS[0]}\n"))


@pytest.fixture(scope="module")
def other():
    return case_of(read_text(OTHER + f"[drive]\ncurrent = {CURRENTS[1]}\n"))


def value(found, name):
    return found.figures[name].value


def mutual(small, other, **place):
    return value(pair(small, other, **{"distance": 3e-3, **place}), "mutual_inductance")


def axes(found, column):
    return np.array([row[column] for row in value(found, "force_and_torque")])


def test_nearly_on_one_axis_is_as_on_it(small, other):
    on, off = (pair(small, other, 3e-3, shift) for shift in (0j, 1e-9 + 0j))
    for name in ("mutual_inductance", "coupling", "force"):
        assert value(off, name) == pytest.approx(value(on, name), rel=5e-3)
    assert off.figures["force"].band == pytest.approx(on.figures["force"].band or (), rel=5e-3) or (
        off.figures["force"].band is None
    )


def test_force_and_torque_are_slopes_of_the_mutual_inductance(small, other):
    """F = I1 I2 grad M, and about the z axis T = I1 I2 dM/dangle (Panofsky and Phillips, 10-5)."""
    at, step, turn = 3e-3 + 1e-3j, 1e-4, 2.0
    found = pair(small, other, 3e-3, at, 30.0)
    m = {
        (name, sign): mutual(small, other, **place)
        for sign in (-1, 1)
        for name, place in {
            "x": {"shift": at + sign * step, "turn": 30.0},
            "y": {"shift": at + 1j * sign * step, "turn": 30.0},
            "z": {"shift": at, "turn": 30.0, "distance": 3e-3 + sign * step},
            "turn": {"shift": at, "turn": 30.0 + sign * turn},
        }.items()
    }
    product = CURRENTS[0] * CURRENTS[1]
    slopes = [product * (m[axis, 1] - m[axis, -1]) / (2 * step) for axis in "xyz"]
    force = axes(found, "force")
    assert force == pytest.approx(slopes, abs=0.02 * np.abs(force).max())
    about_z = product * (m["turn", 1] - m["turn", -1]) / (2 * np.radians(turn))
    assert axes(found, "torque")[2] == pytest.approx(about_z, rel=0.05)


def test_actio_is_reactio(small, other):
    """Forces are opposite, and with their torques about one point the two boards turn nothing together."""
    from coilgen.physics.inductance.facing import force_and_torque_apart
    from coilgen.study.placed_boards import Standing, _moved, _wound

    (one,) = _wound(small)
    (two,) = _moved(_wound(other), other, Standing(distance=2e-3, shift=2e-3 + 1e-3j, turn=20.0))
    middle = np.array([1e-3, 0.0, 1e-3])
    on_two, on_one = (
        force_and_torque_apart(source, path, middle)
        for source, path in ((one.path, two.path), (two.path, one.path))
    )
    for there, back in zip(on_two, on_one, strict=True):
        assert there == pytest.approx(-back, abs=0.01 * np.abs(there).max())


@pytest.mark.parametrize("angle", [0.0, 54.7356103, 90.0])
def test_far_boards_are_dipoles(small, other, angle):
    """M = mu0 A B (3 cos^2 - 1) / (4 pi r^3) (D. J. Griffiths, 5.4.3); none at the magic angle."""
    r, areas = 0.2, [case.value("moment") / case.value("current") for case in (small, other)]
    thickness = other.design.board.stackup.thickness
    z, x = r * np.cos(np.radians(angle)), r * np.sin(np.radians(angle))
    found = mutual(small, other, distance=max(z - thickness, 1e-9), shift=complex(x, 0), turn=40.0)
    scale = MU0 * areas[0] * areas[1] / (4 * np.pi * r**3)
    assert found / scale == pytest.approx(3 * np.cos(np.radians(angle)) ** 2 - 1, abs=0.06)


def test_turning_both_ways_of_a_round_coil_changes_little(small, other):
    """Its leads alone tell one turn from another."""
    none, half = (mutual(small, other, shift=2e-3 + 0j, turn=turn) for turn in (0.0, 180.0))
    assert half == pytest.approx(none, rel=0.05)


def test_windings_of_a_board_couple_as_boards_of_one_each(small):
    """Of two windings on the upper board each as if it stood there alone."""
    two = case_of(
        board(
            winding("a", centre=[-8, 0]),
            winding("b", centre=[8, 0], drive={"current": 0.3}),
            drive={"current": 0.2},
        )
    )
    found = pair(small, two, 3e-3, 1e-3 + 0j)
    rows = value(found, "mutual_inductances")
    assert [(row["lower"], row["upper"]) for row in rows] == [("small", "a"), ("small", "b")]
    total = 0.0
    for row, name, x, current in zip(rows, "ab", (-8e-3, 8e-3), (0.2, 0.3), strict=True):
        alone = case_of(board(winding(name), drive={"current": current}))
        by_itself = pair(small, alone, 3e-3, complex(x + 1e-3, 0))
        assert value(by_itself, "mutual_inductance") == pytest.approx(row["mutual_inductance"], rel=1e-6)
        assert value(by_itself, "coupling") == pytest.approx(row["coupling"], rel=1e-6)
        total += value(by_itself, "force")
    assert value(found, "force") == pytest.approx(total, rel=1e-6)


def test_a_force_to_the_side_is_told(small, other):
    """Beside one another, on nearly one plane."""
    found = pair(small, other, 1e-4, 30e-3 + 0j)
    assert "push each other sideways" in found.cautions[0]
