"""The faces an assembly shows to the air, and what convection and radiation ask of each."""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.heat.body import Assembly, MountedPlate, Orientation, PocketCore
from coilgen.physics.heat.convection import Facing, edge_growth
from coilgen.physics.heat.outline import Outline
from coilgen.physics.heat.rings import Floats, Indices, plates, ring_areas


@dataclass(frozen=True, kw_only=True)
class Face:
    """Nodes that show an area each on one face, and what convection and radiation ask of it.

    film: what convection counts of each area, as its coefficient grows towards the rim. free, height and
    breadth as in convection.Shown.
    """

    name: str
    nodes: Indices
    area: Floats
    film: Floats
    facing: Facing
    free: float
    height: float
    breadth: float
    emissivity: float


LOOKS: dict[Orientation, tuple[Facing, Facing]] = {
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
    board, looks = assembly.board, LOOKS[assembly.surroundings.orientation]
    rows = nodes["board"]
    bare = {0: rows[0] >= 0, -1: rows[-1] >= 0}
    for name, plate, side in plates(assembly):
        row = nodes[name][0]
        bare[side] = bare[side] & (row < 0)
        yield from _plate_faces(
            name, plate, row, edges, (looks[side], looks[-1 - side]), board.outline.radius
        )
    for side, word in ((0, "top"), (-1, "bottom")):
        free, look = _freedom(assembly, -1 - side), looks[side]
        yield _flat(
            f"board {word}", rows[side], edges, bare[side], look, free, board.outline, board.emissivity
        )
    rim = rows[:, rows[0] >= 0][:, -1]
    yield _rim("board's rim", rim, board.thickness, board.outline, board.emissivity)
    if assembly.core is not None:
        yield _core_face(assembly.core, nodes["core"].ravel(), board.outline)


def free_faces(plate: MountedPlate, orientation: Orientation) -> Iterator[Face]:
    """Both faces and the rim of a plate that hangs free in the air, of one temperature: node 0."""
    edges, row = np.array([plate.inner_radius, plate.outline.radius]), np.zeros(1, dtype=np.int64)
    for name, look in zip(("top", "bottom"), LOOKS[orientation], strict=True):
        shown = np.ones(1, dtype=bool)
        yield _flat(name, row, edges, shown, look, 1.0, plate.outline, plate.emissivity)
    yield _rim("rim", row, plate.thickness, plate.outline, plate.emissivity)


def _freedom(assembly: Assembly, side: int) -> float:
    """How far the board's face opposite a side shares its air with that side: 1 when free.

    A plate there that is wider keeps the warm air away, in proportion to its breadth (own judgement between
    two limits: a plate as small as the board, and an endless one that stays cool).
    """
    beyond = [plate for _, plate, at in plates(assembly) if at == side]
    return min([1.0, *(assembly.board.outline.radius / plate.outline.radius for plate in beyond)])


def _plate_faces(
    name: str, plate: MountedPlate, row: Indices, edges: Floats, looks: tuple[Facing, Facing], board: float
) -> Iterator[Face]:
    """Face away from the board, back beyond the board's radius, rim."""
    there = row >= 0
    beyond = there & (edges[:-1] >= board * (1 - 1e-6))
    yield _flat(f"{name} plate", row, edges, there, looks[0], 1.0, plate.outline, plate.emissivity)
    yield _flat(f"{name} plate's back", row, edges, beyond, looks[1], 1.0, plate.outline, plate.emissivity)
    yield _rim(f"{name} plate's rim", row[there][-1:], plate.thickness, plate.outline, plate.emissivity)


def _flat(
    name: str,
    row: Indices,
    edges: Floats,
    shown: NDArray[np.bool_],
    facing: Facing,
    free: float,
    outline: Outline,
    emissivity: float,
) -> Face:
    area = ring_areas(edges)[shown]
    return Face(
        name=name,
        nodes=row[shown],
        area=area,
        film=area * edge_growth(edges[:-1][shown], edges[1:][shown], outline.radius),
        facing=facing,
        free=free,
        height=outline.height,
        breadth=outline.breadth,
        emissivity=emissivity,
    )


def _rim(name: str, nodes: Indices, thickness: float, outline: Outline, emissivity: float) -> Face:
    area = np.full(len(nodes), outline.perimeter * thickness / len(nodes))
    return upright(name, nodes, area, outline, emissivity)


def _core_face(core: PocketCore, node: Indices, board: Outline) -> Face:
    return upright("core", node, np.array([core.surface_area]), board, core.emissivity)


def upright(name: str, nodes: Indices, area: Floats, outline: Outline, emissivity: float) -> Face:
    """Of a narrow surface; convection over the body's height: over its own it would be stronger."""
    return Face(
        name=name,
        nodes=nodes,
        area=area,
        film=area,
        facing="vertical",
        free=0.0,
        height=outline.height,
        breadth=outline.breadth,
        emissivity=emissivity,
    )
