"""Laws of what eddy currents add to a winding's impedance, and values from the literature."""

from dataclasses import replace

import numpy as np
import pytest
from eddy_cases import change, rise_and_fall
from hypothesis import given, settings
from hypothesis import strategies as st

from coilgen.physics.base.conductor import Conductor
from coilgen.physics.eddy.current import _main_cases, skin_depth
from coilgen.physics.eddy.turns import piece_lengths
from coilgen.physics.inductance.winding import layer_inductances

COPPER = 1.7241e-8
MM = 1e-3
SWEEP = np.logspace(3, 7, 17)


def rings(radii, *, width=0.3 * MM, thickness=35e-6, heights=(0.0,)):
    """Closed circles in series, one set a layer."""
    radius = np.tile(radii, len(heights))
    layer = np.repeat(np.arange(1, len(heights) + 1), len(radii))
    count = len(radius)
    point = np.stack([radius, np.zeros(count)], axis=1)
    return Conductor(
        start=point,
        end=point,
        centre=np.zeros((count, 2)),
        sweep=np.full(count, 2 * np.pi),
        width=np.full(count, width),
        thickness=np.full(count, thickness),
        z=np.asarray(heights)[layer - 1],
        layer=layer,
    )


def square(count, apothem, pitch, width, *, heights=(0.0,)):
    """Square spirals; every other layer mirrored and wound from the outside in."""
    angle = np.pi / 2 * np.arange(-1, 4 * count + 1)
    normal = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    distance = apothem + pitch * np.arange(-1, 4 * count + 1) / 4
    run = np.array([np.linalg.solve(normal[k : k + 2], distance[k : k + 2]) for k in range(4 * count + 1)])
    runs = [run if k % 2 == 0 else (run * [1, -1])[::-1] for k in range(len(heights))]
    layer = np.repeat(np.arange(1, len(heights) + 1), 4 * count)
    return Conductor(
        start=np.vstack([run[:-1] for run in runs]),
        end=np.vstack([run[1:] for run in runs]),
        centre=np.full((len(layer), 2), np.nan),
        sweep=np.zeros(len(layer)),
        width=np.full(len(layer), width),
        thickness=np.full(len(layer), 35e-6),
        z=np.asarray(heights)[layer - 1],
        layer=layer,
    )


COILS = {
    "one wide ring": rings(np.array([2.0]) * MM, width=1.0 * MM),
    "rings in three layers": rings(np.arange(3.0, 6.0, 0.5) * MM, heights=(0.0, -0.2 * MM, -0.5 * MM)),
    "heavy copper": rings(np.arange(3.0, 5.0, 0.5) * MM, thickness=70e-6, heights=(0.0, -0.3 * MM)),
    "square": square(6, 2 * MM, 0.5 * MM, 0.3 * MM),
    "square in two layers": square(5, 2 * MM, 0.6 * MM, 0.4 * MM, heights=(0.0, -0.2 * MM)),
}
every_coil = pytest.mark.parametrize("coil", COILS.values(), ids=COILS.keys())


@pytest.mark.parametrize(
    ("frequency", "depth"),
    [(50, 9.346e-3), (1e3, 2.0898e-3), (1e5, 0.20898e-3), (1e6, 66.08e-6), (1e7, 20.90e-6)],
)
def test_skin_depth_of_copper(frequency, depth):
    """Copper at 20 C, IEC 60028; the depths follow from its resistivity."""
    assert skin_depth(COPPER, frequency) == pytest.approx(depth, rel=3e-4)


@every_coil
def test_resistance_rises_and_inductance_falls(coil):
    check_passive(coil)


def check_passive(coil):
    rise, fall = rise_and_fall(coil, COPPER, SWEEP)
    assert rise[0] > 0
    assert fall[0] > 0
    assert np.all(np.diff(rise) > 0)
    assert np.all(np.diff(fall) > 0)
    assert fall[-1] < layer_inductances(coil).total


@every_coil
def test_direct_current_is_the_limit(coil):
    """Well below the first time constant the rise goes with the square of the frequency."""
    assert change(coil, COPPER, np.array([0.0])) == 0
    rise, fall = rise_and_fall(coil, COPPER, np.array([10.0, 100.0]))
    assert rise[1] < 1e-4 * resistance(coil)
    assert rise[1] == pytest.approx(100 * rise[0], rel=1e-3, abs=0)
    assert fall[1] == pytest.approx(100 * fall[0], rel=1e-3, abs=0)


def resistance(coil):
    """Of direct current, ohm."""
    return COPPER * float((piece_lengths(coil) / (coil.width * coil.thickness)).sum())


@every_coil
@pytest.mark.parametrize("size", [0.5, 3.0])
def test_scale_law(coil, size):
    """A coil k times as large behaves at f / k^2 as the small one does at f."""
    lengths = {
        name: size * getattr(coil, name) for name in ("start", "end", "centre", "width", "thickness", "z")
    }
    small = rise_and_fall(coil, COPPER, SWEEP)
    large = rise_and_fall(replace(coil, **lengths), COPPER, SWEEP / size**2)
    assert size * large[0] == pytest.approx(small[0], rel=1e-3, abs=0)
    assert large[1] == pytest.approx(size * small[1], rel=1e-3, abs=0)


@every_coil
def test_frequency_counts_over_resistivity(coil):
    copper, other = change(coil, COPPER, SWEEP), change(coil, 4 * COPPER, 4 * SWEEP)
    assert other == pytest.approx(4 * copper, rel=1e-6, abs=0)


@every_coil
def test_mirrored_and_reversed_coils_are_the_same(coil):
    mirrored = replace(coil, start=coil.end[::-1] * [1, -1], end=coil.start[::-1] * [1, -1], z=coil.z[::-1])
    mirrored = replace(
        mirrored, centre=coil.centre[::-1] * [1, -1], sweep=coil.sweep[::-1], layer=coil.layer[::-1]
    )
    there, back = (resistance(coil) + change(one, COPPER, SWEEP).real for one in (coil, mirrored))
    assert back == pytest.approx(there, rel=5e-3)


def test_loss_of_a_ring_in_the_field_of_far_rings():
    """Weak eddy currents in a strip of length l in a field B lose (w B)^2 width^3 thickness l / (12 rho).

    Textbook: B the root mean square, current density in proportion to the distance from the middle. The
    strip's own field adds to that of the far rings.
    """
    width, far, near = 0.2 * MM, np.arange(30.0, 40.0, 0.5) * MM, np.array([3 * MM])
    both, outer, alone = (_rise(rings(radii, width=width)) for radii in (np.append(near, far), far, near))
    field = (2e-7 * np.pi / far).sum()
    expected = (2 * np.pi * 1e3 * field) ** 2 * width**3 * 35e-6 * 2 * np.pi * near[0] / (12 * COPPER)
    assert expected < both - outer < (np.sqrt(expected) + np.sqrt(alone)) ** 2


def _rise(coil):
    return change(coil, COPPER, np.array([1e3])).real[0]


def test_inductance_of_a_perfect_strip():
    """Where inductance rules, a thin strip is worth a wire of a quarter of its width in radius.

    Conformal map of the strip on a circle (textbook); at rest its mean distance is exp(-3/2) of the width.
    The inductance of a large ring falls by mu0 R (3/2 - ln 4).
    """
    coil = rings(np.array([50.0]) * MM, width=1.0 * MM, thickness=1e-6)
    _, fall = rise_and_fall(coil, COPPER, np.array([1e9]))
    assert fall[0] == pytest.approx(4e-7 * np.pi * 50 * MM * (1.5 - np.log(4.0)), rel=0.03)


@settings(max_examples=15, deadline=None)
@given(
    count=st.integers(1, 6),
    apothem=st.floats(1.5, 8.0),
    width=st.floats(0.1, 0.8),
    spacing=st.floats(0.1, 0.5),
    layers=st.integers(1, 3),
)
def test_random_squares_are_passive(count, apothem, width, spacing, layers):
    heights = tuple(-0.25 * MM * np.arange(layers))
    coil = square(count, apothem * MM, (width + spacing) * MM, width * MM, heights=heights)
    check_passive(coil)


@pytest.mark.parametrize(
    ("resistivity", "frequency"), [(0.0, 1e3), (-1.0, 1e3), (COPPER, -1.0), (np.nan, 1e3)]
)
def test_senseless_numbers_are_refused(resistivity, frequency):
    with pytest.raises(ValueError, match="resistivity"):
        change(COILS["square"], resistivity, np.array([frequency]))


@pytest.mark.parametrize("stations", [4, 300])
def test_as_few_cases_as_carry_the_loops_flux(stations):
    """Of many stations or few: the kept cases drive what all of them do, but for 1e-4 of the squares."""
    rng = np.random.default_rng(5)
    patterns, shares = rng.normal(size=(2 * 9, 2)), rng.normal(size=(2, stations))
    cases = (patterns @ shares + 1e-4 * rng.normal(size=(18, stations))).reshape(2, 9, stations)
    uniform, resistance = np.full((2, 9), 1 / 9), np.linspace(1.0, 2.0, 18).reshape(2, 9)
    main = _main_cases(cases, uniform, resistance)

    def driven(flux):
        loops = (flux - (uniform[..., None] * flux).sum(axis=1, keepdims=True)) / np.sqrt(resistance)[
            ..., None
        ]
        return loops.reshape(18, -1) @ loops.reshape(18, -1).T

    assert main.shape[2] <= min(stations, 3)
    assert np.abs(driven(main) - driven(cases)).max() < 1e-4 * np.trace(driven(cases))
