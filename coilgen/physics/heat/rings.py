"""The rings that an assembly's discs are cut into, and the number of the node in each."""

from collections.abc import Iterator
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from coilgen.physics.heat.body import Assembly, MountedPlate, WoundBoard

Floats = NDArray[np.float64]
Indices = NDArray[np.int64]

WINDING_RINGS = 8
"""Least number of rings the winding is cut into; every other part between two ends gets half as many."""


def ring_areas(edges: Floats) -> Floats:
    """Areas between successive radii, m²."""
    return np.pi * np.diff(edges**2)


def ring_edges(assembly: Assembly) -> Floats:
    """Radii of the rings' edges, m, from the least to the largest."""
    board = assembly.board
    ends = {board.hole_radius, board.winding_inner_radius, board.winding_outer_radius, board.outline.radius}
    ends |= {min(stiff.radius, board.outline.radius) for stiff in board.stiffened}
    for plate in (assembly.top, assembly.bottom):
        if plate is not None:
            ends |= {plate.inner_radius, plate.outline.radius}
    return _cut(_distinct(sorted(ends)), board)


def _distinct(ends: list[float]) -> list[float]:
    """The same without those nearer to the one before than rounding explains."""
    kept = ends[:1]
    for end in ends[1:]:
        if end - kept[-1] > 1e-6 * ends[-1]:
            kept.append(end)
    return kept


def _cut(ends: list[float], board: WoundBoard) -> Floats:
    inner, outer = board.winding_inner_radius, board.winding_outer_radius
    finest = (outer - inner) / WINDING_RINGS
    spans = []
    for low, high in pairwise(ends):
        wound = inner <= (low + high) / 2 <= outer
        rings = int(np.ceil((high - low) / finest - 1e-6)) if wound else WINDING_RINGS // 2
        spans.append(np.linspace(low, high, rings, endpoint=False))
    return np.append(np.concatenate(spans), ends[-1])


def node_numbers(assembly: Assembly, edges: Floats) -> dict[str, Indices]:
    """Numbers of the nodes: board (layers, rings), top and bottom plate (1, rings), core (1, 1).

    -1 where the part does not reach that ring.
    """
    board = assembly.board
    present = {
        "board": (len(board.layers), board.hole_radius, board.outline.radius),
        **{
            name: (1, plate.inner_radius, plate.outline.radius)
            for name, plate in (("top", assembly.top), ("bottom", assembly.bottom))
            if plate is not None
        },
    }
    middle = (edges[:-1] + edges[1:]) / 2
    nodes, begin = {}, 0
    for name, (rows, low, high) in present.items():
        there = np.tile((middle > low) & (middle < high), (rows, 1))
        nodes[name] = np.where(there, begin + np.cumsum(there).reshape(there.shape) - 1, -1)
        begin += int(there.sum())
    if assembly.core is not None:
        nodes["core"] = np.array([[begin]])
    return nodes


def ring_middles(edges: Floats) -> Floats:
    """Radius that halves each ring's area, m."""
    middles: Floats = np.sqrt((edges[:-1] ** 2 + edges[1:] ** 2) / 2)
    return middles


def wound_rings(board: WoundBoard, edges: Floats) -> NDArray[np.bool_]:
    """Which rings between edges (n + 1,) m lie in the winding, (n,)."""
    middle = (edges[:-1] + edges[1:]) / 2
    return (middle > board.winding_inner_radius) & (middle < board.winding_outer_radius)


def plates(assembly: Assembly) -> Iterator[tuple[str, MountedPlate, int]]:
    """Each mounted plate with the board's layer it lies on."""
    if assembly.top is not None:
        yield "top", assembly.top, 0
    if assembly.bottom is not None:
        yield "bottom", assembly.bottom, -1
