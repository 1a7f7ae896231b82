"""Self-resonance: one L and one C, and the ladder of turns against a nodal solve of its impedance."""

import math

import numpy as np
import pytest

from coilgen.physics.circuit.self_resonance import ladder_resonance


def ladder_impedance(inductances, branches, frequency, strings=None):
    """Input impedance of turns in series, by nodal analysis, half of each branch at starts, half at ends.

    strings: as for `ladder_resonance`. Node 0 is driven, the last is earth.
    """
    turns, s = len(inductances), 2j * np.pi * frequency
    string = [0] * turns if strings is None else list(strings)
    starts = [k if k and string[k] == string[k - 1] else 0 for k in range(turns)]
    ends = [k + 1 if string[k + 1 : k + 2] == [string[k]] else turns for k in range(turns)]
    node = np.eye(turns + 1)
    drop = node[starts] - node[ends]
    admittance = drop.T @ np.linalg.inv(s * np.asarray(inductances, dtype=complex)) @ drop
    for a in range(turns):
        for b in range(a):
            for pair in (node[starts[a]] - node[starts[b]], node[ends[a]] - node[ends[b]]):
                admittance = admittance + s * branches[a, b] / 2 * np.outer(pair, pair)
    joined = sorted(set(starts))
    return np.linalg.solve(admittance[np.ix_(joined, joined)], node[0, joined])[0]


def random_ladder(seed, turns):
    rng = np.random.default_rng(seed)
    mixing = rng.uniform(0.0, 1.0, (turns, 3))
    branches = rng.uniform(0.1, 5.0, (turns, turns)) * 1e-12
    branches = np.triu(branches, 1)
    return (mixing @ mixing.T + 0.2 * np.eye(turns)) * 1e-7, branches + branches.T


@pytest.mark.parametrize(
    ("seed", "strings"), [(1, [0] * 2), (2, [0] * 5), (3, [0] * 12), (7, [1, 1, 2]), (8, [0, 1, 1, 1, 2, 2])]
)
def test_ladder_resonance_is_where_its_impedance_turns_over(seed, strings):
    inductances, branches = random_ladder(seed, len(strings))
    resonance = ladder_resonance(inductances, branches, strings)

    def reactance(share):
        return ladder_impedance(inductances, branches, share * resonance, strings).imag

    below = [reactance(share) for share in (0.1, 0.5, 0.9, 0.99999)]
    assert all(each > 0 for each in below)
    assert np.all(np.diff(below) > 0)
    assert reactance(1.00001) < 0


def test_more_capacitance_lowers_the_ladder_resonance_by_its_root():
    inductances, branches = random_ladder(4, 6)
    assert ladder_resonance(inductances, 4 * branches) == pytest.approx(
        ladder_resonance(inductances, branches) / 2, rel=1e-12
    )


def test_no_capacitance_no_resonance():
    assert ladder_resonance([[1e-6]], [[0.0]]) == math.inf


def test_like_strings_side_by_side_resonate_as_one():
    """Without a bond between them, and with each turn's capacitances within its own string."""
    inductances, branches = random_ladder(5, 4)
    two = np.kron(np.eye(2), np.ones((4, 4)))
    both = ladder_resonance(
        np.kron(np.eye(2), inductances), np.tile(branches, (2, 2)) * two, np.repeat([1, 2], 4)
    )
    assert both == pytest.approx(ladder_resonance(inductances, branches), rel=1e-9)


def test_turns_side_by_side_that_share_all_resonate_as_one():
    """Turns bifilar, each of twice the inductance its pair has together: one string of pairs."""
    inductances, branches = random_ladder(6, 3)
    pairs = np.kron(np.ones((2, 2)), inductances) + np.kron([[1, -1], [-1, 1]], 0.1e-7 * np.eye(3))
    both = ladder_resonance(pairs, np.kron(0.25 * np.ones((2, 2)), branches), [0, 0, 0, 1, 1, 1])
    assert both == pytest.approx(ladder_resonance(inductances, branches), rel=1e-6)


def test_matrices_that_do_not_fit_are_refused():
    with pytest.raises(ValueError, match="alike in size"):
        ladder_resonance(np.eye(3), np.zeros((2, 2)))
