"""Winding capacitance: laws of the stored energy, and the L-C ladder of the same partial capacitances."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.special import ellipe, ellipk

from coilgen.physics.circuit.capacitance import turn_capacitances, voltage_shares, winding_capacitance
from coilgen.physics.circuit.self_resonance import ladder_resonance
from coilgen.physics.circuit.turn_section import checked_section

RIGID = ([-1.655e-3, -1.6e-3, 0.0, 55e-6], [3.5, 4.5, 3.5])


def round_coil(heights, turns, width=1.5e-4, spacing=1.5e-4, outer=12e-3, stack=RIGID):
    """Arrays of a round coil, layers winding inward and outward by turns."""
    radius = outer - width / 2 - (width + spacing) * (np.arange(turns) + 0.5)
    position = np.concatenate([radius if k % 2 == 0 else radius[::-1] for k in range(len(heights))])
    length = 2 * np.pi * position
    passed = np.concatenate([[0.0], np.cumsum(length)]) / np.sum(length)
    alike = np.ones(position.size)
    return {
        "height": np.repeat(heights, turns),
        "position": position,
        "width": width * alike,
        "thickness": 35e-6 * alike,
        "length": length,
        "start": passed[:-1],
        "end": passed[1:],
        "interfaces": stack[0],
        "permittivity": stack[1],
    }


TWO = [17.5e-6, -1.6175e-3]
FOUR = [17.5e-6, -2.175e-4, -1.3825e-3, -1.6175e-3]


def ring_inductances(coil):
    """Turns as coaxial rings, H: Maxwell's elliptic integrals, each ring's own mean distance for itself."""
    radius, height = coil["position"], coil["height"]
    own = np.diag(0.2235 * (coil["width"] + coil["thickness"]))
    a, b = radius[:, None], radius[None, :]
    m = 4 * a * b / ((a + b) ** 2 + (height[:, None] - height) ** 2 + own**2)
    return 4e-7 * np.pi * np.sqrt(a * b / m) * ((2 - m) * ellipk(m) - 2 * ellipe(m))


def ladder_impedance(inductances, branches, frequency):
    """Input impedance by nodal analysis; half of each branch joins the turns' starts, half their ends."""
    turns, s = len(inductances), 2j * np.pi * frequency
    drop = np.eye(turns, turns + 1) - np.eye(turns, turns + 1, k=1)
    laplacian = np.diag(branches.sum(axis=1)) - branches
    admittance = drop.T @ np.linalg.inv(s * inductances.astype(complex)) @ drop
    admittance[:-1, :-1] += s * laplacian / 2
    admittance[1:, 1:] += s * laplacian / 2
    driven = np.eye(turns)[0]
    return np.linalg.solve(admittance[:-1, :-1], driven)[0]


def ladder_capacitance(inductances, branches):
    """C of L and C in parallel that the ladder looks like well under its resonance."""
    frequency = 0.05 * ladder_resonance(inductances, branches)
    omega = 2 * np.pi * frequency
    reactance = ladder_impedance(inductances, branches, frequency).imag
    return (1 / (omega * inductances.sum()) - 1 / reactance) / omega


LADDERS = [(TWO, 14, 1.5e-4), (TWO, 36, 1.5e-4), (TWO, 8, 8e-4), (FOUR, 12, 1.5e-4), (FOUR, 25, 1.5e-4)]


@pytest.mark.parametrize(("heights", "turns", "width"), LADDERS)
def test_energy_agrees_with_an_l_c_ladder_of_the_same_capacitances(heights, turns, width):
    coil = round_coil(heights, turns, width)
    winding = winding_capacitance(**coil)
    inductances = ring_inductances(coil)
    ladder = ladder_capacitance(inductances, winding.branches)
    assert winding.capacitance == pytest.approx(ladder, rel=0.05)
    coil["start"], coil["end"] = voltage_shares(inductances)
    assert winding_capacitance(**coil).capacitance == pytest.approx(ladder, rel=0.01)


@pytest.mark.parametrize(
    ("heights", "turns", "width"), [*LADDERS, ([17.5e-6], 36, 1.5e-4), (FOUR[:3], 10, 1.5e-4)]
)
def test_one_l_and_one_c_resonate_within_the_band_of_the_ladder(heights, turns, width):
    coil = round_coil(heights, turns, width)
    winding = winding_capacitance(**coil)
    inductances = ring_inductances(coil)
    ladder = ladder_resonance(inductances, winding.branches)
    of_one = 1 / (2 * np.pi * np.sqrt(inductances.sum() * winding.capacitance))
    assert of_one == pytest.approx(ladder, rel=0.07)


def test_facing_layers_hold_the_thin_dielectric_energy():
    """Two layers across a thin film, the voltage between them falling from all to none: C = e A / (3 d).

    Textbook two-layer winding (Massarini and Kazimierczuk, 1997); gaps between turns are narrow.
    """
    film, relative, turns = 2e-4, 3.4, 10
    stack = ([0.0, film], [relative])
    coil = round_coil([film + 17.5e-6, -17.5e-6], turns, width=2e-3, spacing=5e-5, outer=40e-3, stack=stack)
    plate = relative * 8.8541878128e-12 / film * np.sum(coil["length"][:turns]) * 2.05e-3
    winding = winding_capacitance(**coil)
    middle = (coil["start"] + coil["end"]) / 2
    facing = middle[turns:][::-1] - middle[:turns]
    weights = coil["length"][:turns] / np.sum(coil["length"][:turns])
    assert np.sum(weights * facing**2) == pytest.approx(1 / 3, rel=0.03)
    across = winding.share[:turns, turns:].sum()
    assert across == pytest.approx(plate * np.sum(weights * facing**2), rel=0.04)


def test_a_section_seen_from_behind_has_its_turns_in_reverse():
    """Layers that slide over one another by as much one way as the other way hold the same charges."""
    turns, slide = 4, 0.1e-3
    across = np.tile(0.3e-3 * np.arange(turns), 2)
    inward = np.repeat([1.0, -1.0], turns)
    section = [np.repeat([17.5e-6, -77.5e-6], turns), across, np.full(8, 0.15e-3), np.full(8, 35e-6)]
    one, other = (
        turn_capacitances(checked_section(section[0], across + by * inward, *section[2:]), *RIGID)
        for by in (slide, -slide)
    )
    behind = np.concatenate([np.arange(turns)[::-1], turns + np.arange(turns)[::-1]])
    assert np.allclose(one, other[np.ix_(behind, behind)], rtol=1e-9, atol=1e-9 * np.abs(one).max())
    assert not np.allclose(one, other, rtol=1e-3, atol=0)


def test_sections_round_the_turn_add_up():
    """Equal sections in parts give the whole; where layers slide over one another, the parts' mean holds."""
    coil = round_coil(FOUR, 6)
    whole = winding_capacitance(**coil)
    parts = winding_capacitance(**(coil | {"position": np.tile(coil["position"], (3, 1))}))
    assert parts.capacitance == pytest.approx(whole.capacitance, rel=1e-9)
    assert parts.branches == pytest.approx(whole.branches, rel=1e-9)
    shifted = coil["position"] + np.repeat([0.0, 1e-4, 0.0, 1e-4], 6)
    both = winding_capacitance(**(coil | {"position": np.stack([coil["position"], shifted])}))
    one = winding_capacitance(**(coil | {"position": shifted}))
    assert both.branches == pytest.approx((whole.branches + one.branches) / 2, rel=1e-9)


@settings(max_examples=20, deadline=None)
@given(
    start=st.lists(st.floats(0, 1), min_size=6, max_size=6),
    end=st.lists(st.floats(0, 1), min_size=6, max_size=6),
)
def test_energy_is_that_of_the_voltages_along_the_turn(start, end):
    """Against the plain sum over many short sections of the turn."""
    coil = round_coil(TWO, 3) | {"start": np.array(start), "end": np.array(end)}
    winding = winding_capacitance(**coil)
    section = checked_section(coil["height"], coil["position"], coil["width"], coil["thickness"])
    maxwell = turn_capacitances(section, coil["interfaces"], coil["permittivity"])
    mean_length = (coil["length"][:, None] + coil["length"]) / 2
    energy = 0.0
    for passed in (np.arange(400) + 0.5) / 400:
        voltage = coil["start"] + (coil["end"] - coil["start"]) * passed
        energy -= np.sum(maxwell * mean_length * (voltage[:, None] - voltage) ** 2) / 4 / 400
    assert winding.capacitance == pytest.approx(2 * energy, rel=1e-5, abs=1e-20)
    assert winding.share.sum() == pytest.approx(2 * winding.capacitance)


def test_layers_in_parallel_hold_no_energy_between_like_turns():
    coil = round_coil(TWO, 5)
    coil["position"] = np.tile(coil["position"][:5], 2)
    coil["length"] = 2 * np.pi * coil["position"]
    passed = np.linspace(0, 1, 6)
    coil["start"], coil["end"] = np.tile(passed[:-1], 2), np.tile(passed[1:], 2)
    share = winding_capacitance(**coil).share
    assert np.all(share[np.arange(5), np.arange(5) + 5] == 0)
    assert np.all(share[np.arange(4), np.arange(4) + 1] > 0)


def test_size_scales_the_capacitance():
    coil = round_coil(FOUR, 5)
    larger = {
        name: 2.5 * np.asarray(values)
        if name in ("height", "position", "width", "thickness", "length", "interfaces")
        else values
        for name, values in coil.items()
    }
    assert winding_capacitance(**larger).capacitance == pytest.approx(
        2.5 * winding_capacitance(**coil).capacitance, rel=1e-4
    )


def test_a_lone_turn_has_none():
    assert winding_capacitance(**round_coil([17.5e-6], 1)).capacitance == pytest.approx(0.0, abs=1e-18)


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"width": np.full(4, 4e-4)}, "overlap"),
        ({"width": np.zeros(4)}, "must be positive"),
        ({"length": np.zeros(4)}, "lengths must be positive"),
        ({"start": np.zeros(3)}, "expected 4 finite values"),
        ({"height": np.full(4, np.nan)}, "finite"),
        ({"divisions": 1}, "two divisions"),
    ],
)
def test_wrong_turns_are_refused(changed, says):
    with pytest.raises(ValueError, match=says):
        winding_capacitance(**(round_coil(TWO, 2) | changed))
