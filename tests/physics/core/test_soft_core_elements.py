"""Round cores against axisymmetric finite elements written here: discs and rods, straight and saturating."""

from itertools import pairwise

import numpy as np
import pytest
from skfem import Basis, BilinearForm, ElementQuad2, LinearForm, MeshQuad, condense, solve

from coilgen.physics.base.conductor import Conductor
from coilgen.physics.core.body import Body
from coilgen.physics.core.brick_grid import brick_grid
from coilgen.physics.core.effect import core_effect
from coilgen.physics.core.load import winding_load
from coilgen.physics.core.magnetisation_curve import saturating_curve, straight_curve
from coilgen.physics.core.soft_core import core, coupled, magnetised
from coilgen.physics.field.biot_savart import filaments
from coilgen.physics.field.filaments import together

MU0 = 4e-7 * np.pi


def graded(edges, fine, far):
    """Coordinates through all edges, steps of `fine` between them, growing by a quarter beyond."""
    inner = [
        a + (b - a) * np.arange(n) / n
        for a, b in pairwise(edges)
        for n in [max(1, int(np.ceil((b - a) / fine)))]
    ]
    outward = np.cumsum(fine * 1.25 ** np.arange(1, 60))
    up, down = edges[-1] + outward, edges[0] - outward[::-1]
    return np.concatenate([down[down > far[0]], *inner, edges[-1:], up[up < far[1]]])


def flux_function(loops, body, curve, current, fine):
    """Flux through each loop, Wb: psi = 2 pi r A, with div(nu / r grad psi) = -J, over quadratic elements.

    loops (n, 2): r, z. body: inner radius, outer radius, bottom, top. curve None: no body.
    """
    r_edges = np.unique(np.round([0.0, *loops[:, 0], body[0], body[1]], 9))
    z_edges = np.unique(np.round([*loops[:, 1], body[2], body[3]], 9))
    mesh = MeshQuad.init_tensor(graded(r_edges, fine, (0.0, 0.2)), graded(z_edges, fine, (-0.2, 0.2)))
    basis = Basis(mesh, ElementQuad2(), intorder=5)
    middle = mesh.p[:, mesh.t].mean(axis=1)
    inside = (middle[0] > body[0]) & (middle[0] < body[1]) & (middle[1] > body[2]) & (middle[1] < body[3])
    load = np.zeros(basis.N)
    at = [np.argmin(np.hypot(*(basis.doflocs - loop[:, None]))) for loop in loops]
    np.add.at(load, at, current)
    fixed = basis.get_dofs(lambda x: (x[0] < 1e-12) | (x[0] == mesh.p[0].max()) | (np.abs(x[1]) > 0.15)).all()
    psi = np.zeros(basis.N)
    for _ in range(40):
        gradient = basis.interpolate(psi).grad
        r = basis.global_coordinates()[0]
        b = np.hypot(*gradient) / r
        secant, slope = np.full_like(b, 1 / MU0), np.zeros_like(b)
        if curve is not None:
            secant[inside], slope[inside] = reluctivity(curve, b[inside])
        stiff = tangent.assemble(basis, nu=secant, rise=slope, px=gradient[0], py=gradient[1])
        right = load - residual.assemble(basis, nu=secant, px=gradient[0], py=gradient[1])
        step = solve(*condense(stiff, right, D=fixed))
        psi = psi + step
        if np.abs(step).max() < 1e-8 * np.abs(psi).max():
            break
    else:
        raise AssertionError("the elements' Newton iteration did not converge")
    return 2 * np.pi * psi[at]


def reluctivity(curve, b):
    """H/B and (dH/dB - H/B) / B^2 at flux densities b, from a fine table of the curve."""
    m = np.linspace(0, 1.05 * curve.magnetisation[-1] if not curve.straight else 10 / MU0, 20001)
    h = curve.applied(m)
    table = MU0 * (m + h)
    here = np.interp(b, table, h)
    nu = np.where(b > 1e-12, here / np.maximum(b, 1e-12), h[1] / table[1])
    rise = np.interp(b, table, curve.slope(m) / (MU0 * (1 + curve.slope(m)))) - nu
    return nu, np.where(b > 1e-6, rise / np.maximum(b, 1e-6) ** 2, 0.0)


@BilinearForm
def tangent(u, v, w):
    r = w.x[0]
    along = w.px * v.grad[0] + w.py * v.grad[1]
    across = w.px * u.grad[0] + w.py * u.grad[1]
    return w.nu / r * (u.grad[0] * v.grad[0] + u.grad[1] * v.grad[1]) + w.rise / r**3 * along * across


@LinearForm
def residual(v, w):
    return w.nu / w.x[0] * (w.px * v.grad[0] + w.py * v.grad[1])


def added_by_elements(loops, body, curve, current, fine):
    """Inductance (H) the body adds to the loops in series."""
    with_body = flux_function(loops, body, curve, current, fine)
    without = flux_function(loops, body, None, current, fine)
    return float(np.sum(with_body - without)) / current


def circles(loops):
    """Closed circles as one set of strips."""
    parts = []
    for radius, z in loops:
        angle = 2 * np.pi * np.arange(5) / 4
        ring = radius * np.column_stack([np.cos(angle), np.sin(angle)])
        four = np.ones(4)
        parts.append(
            filaments(
                Conductor(
                    start=ring[:-1],
                    end=ring[1:],
                    centre=np.zeros((4, 2)),
                    sweep=np.diff(angle),
                    width=1e-5 * four,
                    thickness=1e-5 * four,
                    z=z * four,
                    layer=np.ones(4, dtype=np.int64),
                ),
                tolerance=3e-6,
            )
        )
    return together(parts, np.ones(len(parts)))


def added_here(loops, body, curve, current, cell):
    r0, r1, low, high = body
    one = Body(
        form="ring" if r0 else "disc", size=(2 * r1, 2 * r1), hole=2 * r0, bottom=low, thickness=high - low
    )
    probes = np.array([[0, 0, 5e-3]])
    return core_effect(circles(loops), (one,), (curve,), current=current, cell=cell, probes=probes)


TURNS = np.array([[3e-3, 0.0], [4.5e-3, 0.0], [6e-3, 0.0]])
CASES = {
    "thin sheet": ((0.0, 8e-3, -0.7e-3, -0.5e-3), straight_curve(150.0), 0.5e-3, 0.2e-3, 4e-3),
    "plate": ((0.0, 8e-3, -2.5e-3, -0.5e-3), straight_curve(2000.0), 0.5e-3, 0.2e-3, 3e-3),
    # Steps of both outlines: 0.6 % high on these cells, 0.4 % on cells of 0.27 mm.
    "ring": ((2e-3, 8e-3, -1.5e-3, -0.5e-3), straight_curve(500.0), 0.5e-3, 0.2e-3, 6.5e-3),
    "rod": ((0.0, 2e-3, -2e-3, 2e-3), straight_curve(1000.0), 0.25e-3, 0.1e-3, 2e-2),
}


@pytest.mark.parametrize("case", CASES)
def test_straight_curves(case):
    body, curve, cell, fine, tolerance = CASES[case]
    theirs = added_by_elements(TURNS, body, curve, 1.0, fine)
    ours = added_here(TURNS, body, curve, 1.0, cell)
    assert ours.added_inductance == pytest.approx(theirs, rel=tolerance)
    assert abs(ours.added_inductance - theirs) < 1.2 * ours.added_inductance_error + 2e-3 * theirs


@pytest.mark.parametrize("current", [10.0, 1000.0, pytest.param(3000.0, marks=pytest.mark.slow)])
def test_saturating_disc(current):
    (r0, r1, low, high), curve = (0.0, 8e-3, -1.5e-3, -0.5e-3), saturating_curve(1000.0, 1.5)
    theirs = added_by_elements(TURNS, (r0, r1, low, high), curve, current, 0.25e-3)
    disc = Body(form="disc", size=(2 * r1, 2 * r1), bottom=low, thickness=high - low)
    one = core(brick_grid((disc,), 0.5e-3), (curve,))
    load = winding_load(one.grid, circles(TURNS))
    ours = coupled(magnetised(one, current * load), load) / current
    assert ours == pytest.approx(theirs, rel=3e-3)
