"""The faces that a plate with its bodies shows to the air, each warm island for itself."""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.heat.convection import Facing
from coilgen.physics.heat.faces import LOOKS, Face, upright
from coilgen.physics.heat.plate.body import PlacedBody, Plate
from coilgen.physics.heat.plate.grid import Grid, Patch
from coilgen.physics.heat.plate.islands import LOSS, Island, islands, outline_of, picture

Floats = NDArray[np.float64]
Indices = NDArray[np.int64]

_SIDES = {"top": 0, "bottom": -1}
_OTHER = {"top": "bottom", "bottom": "top"}


@dataclass(frozen=True, kw_only=True, eq=False)
class Nodes:
    """The patches of board and bodies on a grid, with the numbers of their nodes.

    rows (layers, v): the board's, layer by layer from the top; bodies: each (v,); cores: one each.
    """

    board: Patch
    rows: Indices
    bodies: tuple[tuple[PlacedBody, Patch, Indices], ...]
    cores: tuple[int, ...]
    count: int


@dataclass(frozen=True, kw_only=True, eq=False)
class WarmParts:
    """The warm islands of the board and of each body."""

    board: list[Island]
    bodies: list[list[Island]]


def warm_parts(plate: Plate, lines: Grid, nodes: Nodes) -> WarmParts:
    """Where the windings warm board and bodies, each as far as its own fin length reaches."""
    pixels = picture(lines)
    board = pixels.mask(plate.outline)
    for cutout in plate.cutouts:
        board &= ~pixels.mask(cutout)
    warm = np.zeros_like(board)
    for number in plate.warm:
        warm |= pixels.mask(plate.windings[number].outer)
    sheet = plate.laminate.conductivity_in_plane * plate.thickness
    found = []
    for body, _, _ in nodes.bodies:
        mask = pixels.mask(body.outline)
        if body.hole is not None:
            mask &= ~pixels.mask(body.hole)
        reach = np.sqrt(body.conductivity * body.thickness / LOSS)
        found.append(islands(lines, pixels, mask, warm, float(reach), body.outline))
    reach = float(np.sqrt(sheet / LOSS))
    return WarmParts(board=islands(lines, pixels, board, warm & board, reach, plate.outline), bodies=found)


def shown_faces(plate: Plate, lines: Grid, nodes: Nodes) -> Iterator[Face]:
    """Every face of board, bodies and cores; walls of cut-outs, where little air moves, do not count."""
    parts = warm_parts(plate, lines, nodes)
    yield from _board_faces(plate, nodes, parts)
    for (body, patch, numbers), found in zip(nodes.bodies, parts.bodies, strict=True):
        yield from _body_faces(plate, lines, body, patch, numbers, found)
    rim = nodes.board.along(plate.outline) * plate.thickness / len(plate.layers)
    yield upright(
        "board's rim", nodes.rows.ravel(), np.tile(rim, len(plate.layers)), outline_of(plate.outline),
        plate.emissivity,
    )  # fmt: skip
    for core, number in zip(plate.cores, nodes.cores, strict=True):
        area = np.array([core.core.surface_area])
        yield upright(core.name, np.array([number]), area, outline_of(plate.outline), core.core.emissivity)


def _board_faces(plate: Plate, nodes: Nodes, parts: WarmParts) -> Iterator[Face]:
    looks = dict(zip(("top", "bottom"), LOOKS[plate.surroundings.orientation], strict=True))
    for side, row in _SIDES.items():
        bare = nodes.board.area.copy()
        for body, patch, _ in nodes.bodies:
            if body.face == side:
                bare = np.maximum(bare - patch.area, 0.0)
        for number, island in enumerate(parts.board, start=1):
            yield from _flat(
                f"board {side}" if len(parts.board) == 1 else f"board {side}, island {number}",
                nodes.board,
                nodes.rows[row],
                bare,
                island,
                looks[side],
                _freedom(nodes, parts, island, _OTHER[side]),
                plate.emissivity,
            )


def _freedom(nodes: Nodes, parts: WarmParts, island: Island, opposite: str) -> float:
    """How far an island shares its air with the other side, on which a wider body may lie: 1 when free."""
    beyond = [
        max(each.outline.radius for each in found)
        for (body, patch, _), found in zip(nodes.bodies, parts.bodies, strict=True)
        if body.face == opposite and ((patch.area > 0) & (island.share > 0)).any()
    ]
    return min([1.0, *(island.outline.radius / radius for radius in beyond)])


def _body_faces(
    plate: Plate, lines: Grid, body: PlacedBody, patch: Patch, numbers: Indices, found: list[Island]
) -> Iterator[Face]:
    """Face away from the board, back beyond the board's edge, rim."""
    looks = dict(zip(("top", "bottom"), LOOKS[plate.surroundings.orientation], strict=True))
    beyond = np.maximum(patch.area - lines.cover(plate.outline), 0.0)
    beyond[beyond < 1e-9 * lines.areas] = 0.0
    for number, island in enumerate(found, start=1):
        name = body.name if len(found) == 1 else f"{body.name}, island {number}"
        for word, area, side in (("", patch.area, body.face), ("'s back", beyond, _OTHER[body.face])):
            yield from _flat(f"{name}{word}", patch, numbers, area, island, looks[side], 1.0, body.emissivity)
    rim = patch.along(body.outline) * body.thickness
    yield upright(f"{body.name}'s rim", numbers, rim, outline_of(body.outline), body.emissivity)


def _flat(
    name: str,
    patch: Patch,
    numbers: Indices,
    bare: Floats,
    island: Island,
    facing: Facing,
    free: float,
    emissivity: float,
) -> Iterator[Face]:
    """What an island shows of a bare area (ny, nx) m², and its cooler skirt, where the growth ends."""
    inside, skirt = bare * island.share, bare * island.skirt
    for word, area, film in (("", inside, inside * island.growth), (", skirt", skirt, skirt)):
        if area.any():
            yield Face(
                name=f"{name}{word}",
                nodes=numbers,
                area=patch.shared(area),
                film=patch.shared(film),
                facing=facing,
                free=free,
                height=island.outline.height,
                breadth=island.outline.breadth,
                emissivity=emissivity,
            )
