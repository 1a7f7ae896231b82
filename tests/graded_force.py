"""Force on a body of graded cells along any axis: what its charges feel of all others and of the winding."""

import numpy as np
from graded_cells import Charged, Image
from graded_core import FluxDensity, GradedCore, GradedState, applied_load, signs
from graded_pairs import mean_inverse_distances_of_pairs
from numpy.typing import NDArray

from coilgen.physics.base.conductor import Floats
from coilgen.physics.base.constants import MU0

_MOVE = 0.02
_HAIR = 1e-9


def force_on_body(state: GradedState, body: int, flux_density: FluxDensity) -> Floats:
    """Force (3,) N on a whole body, number `body`, under the applied B (k, 3) T at points (k, 3) m.

    Minus the change of the co-energy as the body moves with its magnetisation held, which is the whole
    derivative, as the energy is least; the load must have been that of `applied_load`. Images that the body
    touches are parts of it; its other images, and all of the other bodies, are what it feels.
    """
    cells = state.core.cells
    own = [image for image in cells.images if _touches(cells.carriers, body, image)]
    move = _MOVE * float(cells.extent[cells.body == body].min())
    found = np.zeros(3)
    for axis in range(3):
        parts = sum(image.flip[axis] for image in own)
        if parts:
            step = move * np.eye(3)[axis]
            found[axis] = parts * (
                _of_charges(state, body, own, step) + _of_field(state, body, flux_density, step)
            )
    return MU0 * found / (2.0 * move)


def _touches(carriers: Charged, body: int, image: Image) -> bool:
    mine = carriers.body == body
    low = (carriers.middle[mine] - 0.5 * carriers.extent[mine]).min(axis=0)
    high = (carriers.middle[mine] + 0.5 * carriers.extent[mine]).max(axis=0)
    ends = np.sort([low * image.flip, high * image.flip], axis=0)
    return bool(np.all(ends[0] <= high + _HAIR) and np.all(ends[1] >= low - _HAIR))


def _of_charges(state: GradedState, body: int, own: list[Image], step: Floats) -> float:
    """Fall of the energy between the body's charges and all others from -step to step, A2 m."""
    carriers, charge = state.core.cells.carriers, state.charge
    mine = carriers.body == body
    apart = [image for image in state.core.cells.images if image not in own]
    fall = 0.0
    for others, images in ((mine, apart), (~mine, list(state.core.cells.images))):
        if not images or not np.any(others):
            continue
        there = (carriers.middle[others], carriers.extent[others])
        low, high = (
            mean_inverse_distances_of_pairs(
                carriers.middle[mine] + sign * step, carriers.extent[mine], there, signs(images)
            )
            for sign in (-1.0, 1.0)
        )
        fall += float(charge[mine] @ (low - high) @ charge[others])
    return fall / (4.0 * np.pi)


def _of_field(state: GradedState, body: int, flux_density: FluxDensity, step: Floats) -> float:
    """Rise of b . m of the body from -step to step, A2 m."""
    core = state.core
    m = np.where(_free_values(core, body), state.m, 0.0)
    low, high = (
        float(applied_load(core, lambda points, sign=sign: flux_density(points + sign * step)) @ m)  # type: ignore[misc]
        for sign in (-1.0, 1.0)
    )
    return high - low


def _free_values(core: GradedCore, body: int) -> NDArray[np.bool_]:
    """Which free values are on faces of the body, (n,)."""
    faces = np.unique(core.cells.face[core.cells.body == body])
    return np.asarray(abs(core.cells.tie[faces]).sum(axis=0)).ravel() > 0.0
