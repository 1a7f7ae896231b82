"""Where the field of a board's windings is looked for at its largest: along rays across their turns."""

from collections.abc import Iterator

import numpy as np

from coilgen.geometry.isometry import Isometry
from coilgen.geometry.path import Path
from coilgen.geometry.region import chords
from coilgen.layout.seen import copper_edges
from coilgen.physics.base.conductor import Floats
from coilgen.result.figure import Case

_RAYS = 24
"""From the middle of each winding: they pass the corners of squares, hexagons and all between."""
_INSIDE, _ACROSS, _BEYOND = (0.0, 0.3, 0.6, 0.8), 7, (1.15, 1.4)
"""Where points lie on a ray: of the way to the inner edge; how many from edge to edge; of the way to the
outer edge."""
_COILS = 3
"""Of an array, how many of those that carry most: its ends and its middle, as the others repeat them."""
_ROUND = 2e-5
"""m, largest distance between an edge's arcs and their chords."""


def over_turns(case: Case) -> Floats:
    """Points (rays, points, 2) m across the turns of each winding, from inside to beyond them."""
    return np.concatenate([_across(*edges) for edges in _edges(case)])


def _edges(case: Case) -> Iterator[tuple[complex, Path, Path]]:
    """Middle, outer and inner edge of the windings that are looked over."""
    if not case.windings:
        yield 0j, *copper_edges(case.design)
        return
    most = max(abs(each.weight) for each in case.windings)
    strong = [
        placed
        for placed, each in zip(case.design.windings, case.windings, strict=True)
        if case.design.array is None or abs(each.weight) > (1 - 1e-9) * most
    ]
    if case.design.array is not None and len(strong) > _COILS:
        strong = [strong[0], strong[len(strong) // 2], strong[-1]]
    for placed in strong:
        lies = Isometry.placed(placed.rotation, placed.centre)
        outer, inner = (edge.moved(lies) for edge in copper_edges(placed.design))
        yield placed.centre, outer, inner


def _across(middle: complex, outer: Path, inner: Path) -> Floats:
    angle = 2.0 * np.pi * np.arange(_RAYS) / _RAYS
    far, near = (_radius(edge, middle, angle)[:, None] for edge in (outer, inner))
    share = np.linspace(0.0, 1.0, _ACROSS)
    radius = np.hstack([near * _INSIDE, near + (far - near) * share, far * _BEYOND])
    points = middle + radius * np.exp(1j * angle)[:, None]
    return np.stack([points.real, points.imag], axis=-1)


def _radius(edge: Path, middle: complex, angle: Floats) -> Floats:
    """How far an edge is from a place within it at angles, m: the farthest where it is met more than once."""
    corner = chords(edge, _ROUND) @ (1.0, 1j) - middle
    start, step = corner[:-1], np.diff(corner)
    ray = np.exp(1j * angle)[:, None]
    turned = (np.conj(ray) * step).imag
    with np.errstate(divide="ignore", invalid="ignore"):
        along = -(np.conj(ray) * start).imag / turned
        met = (np.conj(ray) * (start + along * step)).real
    crossed = (turned != 0.0) & (along >= 0.0) & (along <= 1.0) & (met > 0.0)
    return np.asarray(np.where(crossed, met, 0.0).max(axis=1))
