"""Heat of bodies under square waves: in closed form as by the sum of harmonics."""

import math

import numpy as np
import pytest

from coilgen.physics.metal.relaxation import Relaxation, body_losses, square_losses

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
