"""Nine windings on one board that warm one another, against finite elements over its whole face."""

import numpy as np
import pytest
from plate_cases import amperes, circle, coil, thin
from skfem import Basis, BilinearForm, ElementTriP2, LinearForm, MeshTri, asm, solve
from skfem.helpers import dot, grad

from coilgen.physics.heat.plate.network import plate_network
from coilgen.physics.heat.plate.steady import plate_steady_state

AIR, FILM, SHEET, BOARD = 25.0, 10.0, 1e-3, 24e-3
OUTER, INNER, RING = 4.2e-3, 1.4e-3, 15e-3
CENTRES = [(RING * np.cos(turn), RING * np.sin(turn)) for turn in 2 * np.pi * np.arange(9) / 9]
CURRENTS = [0.3, 0.0, 0.15, 0.3, 0.0, 0.15, 0.3, 0.0, 0.15]
OHM = 5.0


@BilinearForm
def _conducted(u, v, w):
    """And what both faces lose."""
    return SHEET * dot(grad(u), grad(v)) + 2 * FILM * u * v


def _within(x, k):
    away = np.hypot(x[0] - CENTRES[k][0], x[1] - CENTRES[k][1])
    return (away < OUTER) & (away > INNER)


@LinearForm
def _made(v, w):
    area = np.pi * (OUTER**2 - INNER**2)
    return sum(_within(w.x, k) * current**2 * OHM / area for k, current in enumerate(CURRENTS)) * v


@pytest.fixture(scope="module")
def by_elements():
    """Rises in the air of each winding's region: its hottest and its mean, (9,) K."""
    mesh = MeshTri.init_circle(5).scaled(BOARD)
    basis = Basis(mesh, ElementTriP2(), intorder=6)
    rise = solve(asm(_conducted, basis), asm(_made, basis))
    values, places = np.asarray(basis.interpolate(rise)), np.asarray(basis.global_coordinates())
    inside = [_within(places, k) for k in range(9)]
    return np.array([values[own].max() for own in inside]), np.array(
        [np.average(values[own], weights=basis.dx[own]) for own in inside]
    )


def test_each_of_nine_windings_is_as_warm_as_by_finite_elements(by_elements):
    hottest, mean = by_elements
    board = thin(circle(BOARD), *(coil(at, OUTER, INNER, ohm=OHM) for at in CENTRES), sheet=SHEET)
    found = plate_steady_state(plate_network(board), amperes(*CURRENTS))
    driven = np.array(CURRENTS) > 0
    strong = np.array(CURRENTS) == max(CURRENTS)
    assert np.allclose((found.hottest - AIR)[strong], hottest[strong], rtol=0.01)
    assert np.allclose(
        (found.hottest - AIR)[driven], hottest[driven], rtol=0.05
    )  # a cell nearer the warm one
    assert np.allclose((found.mean - AIR)[driven], mean[driven], rtol=0.02)
    assert int(np.argmax(found.hottest)) in (0, 3, 6)
    alone = plate_steady_state(plate_network(board), amperes(CURRENTS[0], *[0.0] * 8))
    assert found.hottest[0] - AIR > 1.1 * (alone.hottest[0] - AIR)  # neighbours count
