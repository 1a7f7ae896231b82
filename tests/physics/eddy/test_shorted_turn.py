"""A shorted turn against circuit laws, a nodal solution, and the exact inductances of spirals."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from spirals import Section, polygon_spiral, round_spiral

from coilgen.physics.eddy.shorted_turn import TurnsCircuit, impedance_change, turn_inductances
from coilgen.physics.eddy.turns import turns
from coilgen.physics.inductance.winding import layer_inductances

FREQUENCY = 1e5
OMEGA = 2 * np.pi * FREQUENCY


def circuit(inductance, resistance, path=None, extra=0.0):
    resistance = np.asarray(resistance, float)
    path = np.zeros(len(resistance), int) if path is None else np.asarray(path)
    of_paths = np.bincount(path, resistance) + extra
    return TurnsCircuit(
        inductance=np.asarray(inductance, float), resistance=resistance, path=path, path_resistance=of_paths
    )


def random_turns(seed, count):
    """Inductances of `count` coupled turns: any symmetric positive definite matrix is some turns'."""
    rng = np.random.default_rng(seed)
    root = rng.normal(size=(count, count + 2))
    return 1e-7 * root @ root.T, rng.uniform(0.05, 0.3, count)


def test_two_turns_are_a_transformer_with_its_secondary_shorted():
    """Z = R + jwL + (wM)2 / (R + jwL), of any textbook on coupled circuits."""
    own, mutual, r = 50e-9, 20e-9, 0.1
    found = impedance_change(circuit([[own, mutual], [mutual, own]], [r, r]), FREQUENCY)
    one = r + 1j * OMEGA * own
    wanted = one + (OMEGA * mutual) ** 2 / one - 2 * (r + 1j * OMEGA * (own + mutual))
    assert found == pytest.approx([wanted, wanted])


def test_at_direct_current_only_the_turns_resistance_is_missing():
    inductance, resistance = random_turns(1, 5)
    assert impedance_change(circuit(inductance, resistance), 0.0) == pytest.approx(-resistance)


def test_at_high_frequency_the_turn_holds_the_flux_out():
    """What is left is L - M2 / Lk: no flux goes through a turn without resistance (Lenz)."""
    inductance, resistance = random_turns(2, 4)
    found = impedance_change(circuit(inductance, resistance), 1e12).imag / (2e12 * np.pi)
    for turn in range(4):
        kept = np.delete(np.delete(inductance, turn, 0), turn, 1).sum()
        linked = np.delete(inductance[turn], turn).sum()
        left = kept - linked**2 / inductance[turn, turn]
        assert found[turn] == pytest.approx(left - inductance.sum(), rel=1e-6)


def nodal_impedance(inductance, resistance, path, shorted):
    """Between the terminals by nodal analysis: branches in chains from node 0 to node 1, one bridged."""
    admittance = np.linalg.inv(np.diag(resistance) + 1j * OMEGA * inductance)
    ends, fresh = [], 2
    for number in range(max(path) + 1):
        here = 0
        members = [k for k in range(len(path)) if path[k] == number]
        for k in members:
            there = 1 if k == members[-1] else fresh
            fresh += there == fresh
            ends.append((k, here, there))
            here = there
    incidence = np.zeros((len(path), fresh))
    for k, here, there in ends:
        incidence[k, here], incidence[k, there] = 1.0, -1.0
    if shorted is not None:
        _, here, there = next(end for end in ends if end[0] == shorted)
        keep, gone = min(here, there), max(here, there)
        incidence[:, keep] += incidence[:, gone]
        incidence = np.delete(incidence, gone, axis=1)
    nodes = incidence.T @ admittance @ incidence
    return 1 / (nodes[0, 0] - nodes[0, 2:] @ np.linalg.solve(nodes[2:, 2:], nodes[2:, 0]))


@settings(deadline=None, max_examples=30)
@given(st.integers(0, 10_000), st.sampled_from([(0, 0, 0, 0), (0, 0, 1, 1), (0, 0, 1, 1, 1, 2, 2)]))
def test_agrees_with_nodal_analysis(seed, path):
    inductance, resistance = random_turns(seed, len(path))
    found = impedance_change(circuit(inductance, resistance, path), FREQUENCY)
    sound = nodal_impedance(inductance, resistance, path, None)
    for turn in range(len(path)):
        wanted = nodal_impedance(inductance, resistance, path, turn) - sound
        assert found[turn] == pytest.approx(wanted, rel=1e-6, abs=1e-9 * abs(sound))


def test_hotter_turns_have_more_resistance_all_over():
    sound = circuit(np.eye(2), [1.0, 2.0], extra=0.5)
    assert list(sound.hotter(2.0).resistance) == [2.0, 4.0]
    assert list(sound.hotter(2.0).path_resistance) == [7.0]


@pytest.mark.parametrize(
    ("sides", "off"), [(4, 0.035), (6, 0.015), (0, 0.002)], ids=["square", "hexagon", "round"]
)
def test_rings_for_turns_lose_what_the_exact_turns_lose(sides, off):
    """Of the inductance, by each turn, at low and at high frequency; exact: each turn's strips or rings."""
    section, count = Section(width=0.3), 6
    winding = (
        polygon_spiral(sides, count, 5.0, 0.5, section) if sides else round_spiral(count, 5.0, 0.5, section)
    )
    pieces = len(winding.sweep) // count
    each = replace(winding, layer=np.arange(count * pieces) // pieces)
    rings, exact = turn_inductances(turns(winding)), layer_inductances(each).matrix
    for lost in (lost_at_low, lost_at_high):
        assert lost(rings) == pytest.approx(lost(exact), rel=off)


def lost_at_low(matrix):
    return (2 * matrix.sum(axis=1) - matrix.diagonal()) / matrix.sum()


def lost_at_high(matrix):
    rest = matrix.sum(axis=1) - matrix.diagonal()
    return lost_at_low(matrix) + rest**2 / matrix.diagonal() / matrix.sum()
