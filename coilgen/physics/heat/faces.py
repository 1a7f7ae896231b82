"""The faces an assembly shows to the air, and what convection and radiation ask of each."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from coilgen.physics.heat.body import Assembly, MountedPlate, Orientation, Outline, PocketCore
from coilgen.physics.heat.convection import Facing
from coilgen.physics.heat.rings import Floats, Indices, plates, ring_areas


@dataclass(frozen=True, kw_only=True)
class Face:
    """Nodes that show an area each on one face, and what convection and radiation ask of it."""

    name: str
    nodes: Indices
    area: Floats
    facing: Facing
    length: float
    emissivity: float


_LOOKS: dict[Orientation, tuple[Facing, Facing]] = {
    "face-up": ("up", "down"),
    "face-down": ("down", "up"),
    "vertical": ("vertical", "vertical"),
}
"""Which way the top and the bottom face look."""


def shown_faces(assembly: Assembly, edges: Floats, nodes: dict[str, Indices]) -> Iterator[Face]:
    """Every face of board, plates and core; one that is wholly covered has no nodes.

    edges: radii of the rings, m; nodes: their numbers by part. A plate's back counts where it stands out
    beyond the board; the walls of the pocket, where no air moves, do not.
    """
    board, looks = assembly.board, _LOOKS[assembly.surroundings.orientation]
    areas, rows = ring_areas(edges), nodes["board"]
    bare = {0: rows[0] >= 0, -1: rows[-1] >= 0}
    for name, plate, side in plates(assembly):
        row = nodes[name][0]
        bare[side] = bare[side] & (row < 0)
        yield from _plate_faces(
            name, plate, row, edges, (looks[side], looks[-1 - side]), board.outline.radius
        )
    for side, word in ((0, "top"), (-1, "bottom")):
        yield _flat(
            f"board {word}", rows[side], areas, bare[side], looks[side], board.outline, board.emissivity
        )
    rim = rows[:, rows[0] >= 0][:, -1]
    yield _rim("board's rim", rim, board.thickness, board.outline, board.emissivity)
    if assembly.core is not None:
        yield _core_face(assembly.core, nodes["core"].ravel())


def _plate_faces(
    name: str, plate: MountedPlate, row: Indices, edges: Floats, looks: tuple[Facing, Facing], board: float
) -> Iterator[Face]:
    """Face away from the board, back beyond the board's radius, rim."""
    areas, there = ring_areas(edges), row >= 0
    beyond = there & (edges[:-1] >= board * (1 - 1e-6))
    yield _flat(f"{name} plate", row, areas, there, looks[0], plate.outline, plate.emissivity)
    yield _flat(f"{name} plate's back", row, areas, beyond, looks[1], plate.outline, plate.emissivity)
    yield _rim(f"{name} plate's rim", row[there][-1:], plate.thickness, plate.outline, plate.emissivity)


def _core_face(core: PocketCore, node: Indices) -> Face:
    return Face(
        name="core",
        nodes=node,
        area=np.array([core.surface_area]),
        facing="vertical",
        length=core.length,
        emissivity=core.emissivity,
    )


def _flat(
    name: str,
    row: Indices,
    areas: Floats,
    shown: NDArray[np.bool_],
    facing: Facing,
    outline: Outline,
    emissivity: float,
) -> Face:
    length = outline.height if facing == "vertical" else outline.area / outline.perimeter
    return Face(
        name=name, nodes=row[shown], area=areas[shown], facing=facing, length=length, emissivity=emissivity
    )


def _rim(name: str, nodes: Indices, thickness: float, outline: Outline, emissivity: float) -> Face:
    """The narrow side; convection over the body's height: over the rim's own it would be stronger."""
    area = np.full(len(nodes), outline.perimeter * thickness / len(nodes))
    return Face(
        name=name, nodes=nodes, area=area, facing="vertical", length=outline.height, emissivity=emissivity
    )
