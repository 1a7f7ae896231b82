"""Metal as a sum of decays: its heat is its resistance, also under square waves; what is made of it."""

import math

import numpy as np
import pytest

from coilgen.physics.metal.relaxation import (
    Relaxation,
    added_impedance,
    added_inductance,
    body_losses,
    conducting,
    joined,
    limited,
    of_single_body,
    scaled,
    square_losses,
)

TIMES = np.array([2e-3, 3e-5, 4e-7, 5e-9])
FIRST = np.array([[0.6, 0.1, 0, 0], [0.1, 0.5, 0, 0], [0, 0, 0.2, -0.1], [0, 0, -0.1, 0.7]])
METAL = Relaxation(
    static=-1e-6,
    amplitude=np.array([8e-4, 5e-4, 3e-4, 2e-4]),
    time=TIMES,
    damping=np.sqrt(np.outer(TIMES, TIMES)) * np.stack([FIRST, np.eye(4) - FIRST]),
)
HIGHEST = 1e7


def summed(frequency: float, duty: float) -> np.ndarray:
    """Harmonic by harmonic, over the mean square of one ampere that is on for the duty."""
    order = np.arange(1, 1 + int(HIGHEST / frequency))
    share = math.sqrt(2) * np.sin(math.pi * order * duty) / (math.pi * order)
    return np.square(share) @ body_losses(METAL, order * frequency) / duty


@pytest.mark.parametrize("frequency", [300.0, 3e3, 2e4, 1e5, 3e6])
@pytest.mark.parametrize("duty", [0.05, 0.3, 0.5, 0.99])
def test_closed_as_the_sum_of_harmonics(frequency: float, duty: float) -> None:
    assert square_losses(METAL, frequency, duty, HIGHEST) == pytest.approx(summed(frequency, duty), rel=2e-4)


def test_slow_waves_make_the_heat_of_two_edges() -> None:
    once, twice = (square_losses(METAL, frequency, 0.25, HIGHEST) for frequency in (0.01, 0.02))
    assert twice == pytest.approx(2 * once, rel=1e-9)
    assert once.sum() > 0


ALONG = np.array([50.0, 3e3, 2e5, 4e7])
OTHER = of_single_body(2e-6, np.array([3e-7, 1e-7]), np.array([1e-4, 2e-6]), np.array([1.0, -1.0]))


def test_heat_of_all_bodies_is_the_added_resistance() -> None:
    heat = body_losses(METAL, ALONG).sum(axis=-1)
    assert heat == pytest.approx(added_impedance(METAL, ALONG).real, rel=1e-12)


def test_bodies_that_do_not_feel_one_another_add_up() -> None:
    both = joined([METAL, OTHER])
    assert added_inductance(both, ALONG) == pytest.approx(
        added_inductance(METAL, ALONG) + added_inductance(OTHER, ALONG), rel=1e-12
    )
    apart = np.concatenate([body_losses(METAL, ALONG), body_losses(OTHER, ALONG)], axis=-1)
    assert body_losses(both, ALONG) == pytest.approx(apart, rel=1e-12)


def test_metal_that_conducts_better_does_the_same_at_lower_frequencies() -> None:
    better = conducting(METAL, 4.0)
    assert added_inductance(better, ALONG) == pytest.approx(added_inductance(METAL, 4 * ALONG), rel=1e-12)
    assert 4 * body_losses(better, ALONG) == pytest.approx(body_losses(METAL, 4 * ALONG), rel=1e-12)


def test_a_larger_effect_is_larger_at_every_frequency() -> None:
    more = scaled(METAL, 2.5)
    assert added_inductance(more, ALONG) == pytest.approx(2.5 * added_inductance(METAL, ALONG), rel=1e-12)
    assert body_losses(more, ALONG) == pytest.approx(2.5 * body_losses(METAL, ALONG), rel=1e-12)


def test_metal_takes_no_more_than_there_is() -> None:
    """A winding whose inductance is 1.5 uH keeps some of it, however well the metal conducts."""
    bound = limited(METAL, -1.5e-6)
    assert bound.perfect == pytest.approx(-1.5e-6, rel=1e-12)
    assert added_inductance(bound, 0.0) == added_inductance(METAL, 0.0)
    assert limited(METAL, -3e-6) is METAL
