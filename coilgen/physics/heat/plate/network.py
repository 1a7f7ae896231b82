"""A plate as a network of heat: nodes at the grid's vertices, layer by layer, with sparse matrices."""

from collections.abc import Iterator
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.base.node_order import dissected
from coilgen.physics.heat.body import ZERO_CELSIUS
from coilgen.physics.heat.convection import Shown
from coilgen.physics.heat.network import shown_of
from coilgen.physics.heat.plate.body import Plate, StiffSheet
from coilgen.physics.heat.plate.copper import Filling, backing, copper_capacity, fillings, sheet, turns
from coilgen.physics.heat.plate.faces import Nodes, shown_faces
from coilgen.physics.heat.plate.grid import Grid, grid, patch
from coilgen.physics.heat.plate.stiffness import Entries, joined, laplacian, spreading

Floats = NDArray[np.float64]
Indices = NDArray[np.int64]


@dataclass(frozen=True, kw_only=True, eq=False)
class PlateNetwork:
    """n nodes, w windings, s faces. Temperatures in K.

    conductance (n, n) sparse W/K: Laplacian matrix; capacity (n,) J/K; resistance_20c (w, n) sparse, ohm of
    each winding in each node; turns: the nodes of each winding's turns; face_area, film_area (s, n) sparse
    m²: what each node shows on each face, and what convection counts of it; shown, emissivity (s,), faces: as
    in Network; parts: node numbers by name, "board" and those of bodies and cores. x, y: the grid's lines, m;
    field (layers, ny + 1, nx + 1): the board's node at each vertex, -1 for none. order (n,): of the nodes, in
    which factors stay small. eddy_resistance (w, w) ohm: heat of eddy currents in each winding's copper over
    the mean square of each one's current, at any temperature; made where the winding has its resistance.
    """

    conductance: Any
    capacity: Floats
    resistance_20c: Any
    turns: tuple[Indices, ...]
    face_area: Any
    film_area: Any
    shown: Shown
    emissivity: Floats
    faces: tuple[str, ...]
    parts: dict[str, Indices]
    ambient: float
    convection_factor: float
    forced_coefficient: float | None
    temperature_coefficient: float
    x: Floats
    y: Floats
    field: Indices
    order: Indices
    eddy_resistance: Floats

    @cached_property
    def shown_area(self) -> Floats:
        """Of each face, (s,) m²."""
        area: Floats = self.face_area.sum(axis=1)
        return area

    @cached_property
    def led_away(self) -> Any:
        """What conduction leads into each node, by rise: (n, n) W/K, sparse by columns."""
        found = (-self.conductance).tocsc()
        found.sum_duplicates()  # which older scipy leaves apart
        return found

    @cached_property
    def diagonal(self) -> Indices:
        """Where the diagonal of `led_away` stands in its values, (n,)."""
        column = np.repeat(np.arange(len(self.capacity)), np.diff(self.led_away.indptr))
        return np.flatnonzero(self.led_away.indices == column)

    @cached_property
    def eddy_heat(self) -> Any:
        """Heat of each node for a unit of each winding's mean squared current, (w, n) sparse ohm."""
        from scipy.sparse import csr_array, diags_array

        share = diags_array(1 / self.resistance_20c.sum(axis=1)) @ self.resistance_20c
        return csr_array(self.eddy_resistance.T) @ share


def plate_network(plate: Plate, cell: float | None = None) -> PlateNetwork:
    """The network of a plate; cell: size of the grid's cells in the windings, m, None for its own choice.

    Left to itself, five cells lie across the narrowest winding, 36 to 96 along the board. A slot or a web
    narrower than a cell beside it is not resolved.
    """
    lines = grid(plate, cell)
    nodes = _nodes(plate, lines)
    wound = [turns(lines, nodes.board, winding) for winding in plate.windings]
    filled = list(fillings(plate, lines, nodes.board, wound))
    faces = [face for face in shown_faces(plate, lines, nodes) if face.area.sum() > 0]
    air = plate.surroundings
    forced = air.forced_coefficient is not None
    share = [nodes.board.shared(each.region / each.region.sum()) for each in wound]
    return PlateNetwork(
        conductance=laplacian(_entries(plate, lines, nodes, filled), nodes.count),
        capacity=_capacity(plate, lines, nodes, filled),
        resistance_20c=_stacked(list(_resistances(plate, nodes, share)), nodes.count),
        turns=tuple(
            nodes.rows[np.ix_(np.array(winding.resistance_20c) > 0, part > 0)].ravel()
            for winding, part in zip(plate.windings, share, strict=True)
        ),
        face_area=_stacked([(face.nodes, face.area) for face in faces], nodes.count),
        film_area=_stacked([(face.nodes, face.area if forced else face.film) for face in faces], nodes.count),
        shown=shown_of(faces),
        emissivity=np.array([face.emissivity for face in faces]),
        faces=tuple(face.name for face in faces),
        parts=_parts(plate, nodes),
        ambient=air.ambient + ZERO_CELSIUS,
        convection_factor=air.convection_factor,
        forced_coefficient=air.forced_coefficient,
        temperature_coefficient=plate.temperature_coefficient,
        x=lines.x,
        y=lines.y,
        field=_field(nodes),
        order=_order(nodes),
        eddy_resistance=np.zeros((len(plate.windings), len(plate.windings))),
    )


def _nodes(plate: Plate, lines: Grid) -> Nodes:
    board = patch(lines, plate.outline, plate.cutouts)
    begin = len(plate.layers) * board.count
    bodies = []
    for body in plate.bodies:
        own = patch(lines, body.outline, () if body.hole is None else (body.hole,))
        bodies.append((body, own, begin + np.arange(own.count)))
        begin += own.count
    return Nodes(
        board=board,
        rows=np.arange(len(plate.layers) * board.count).reshape(len(plate.layers), -1),
        bodies=tuple(bodies),
        cores=tuple(begin + number for number in range(len(plate.cores))),
        count=begin + len(plate.cores),
    )


def _entries(plate: Plate, lines: Grid, nodes: Nodes, filled: list[Filling]) -> list[Entries]:
    laminate, rows, area = plate.laminate, nodes.rows, nodes.board.shared(nodes.board.area)
    sheets = [
        sheet(layer, filling, behind, laminate.conductivity_in_plane)
        for layer, filling, behind in zip(plate.layers, filled, backing(plate.dielectric), strict=True)
    ]
    for stiff in plate.stiffeners:
        share = stiff.sheet * _stiff_share(stiff, lines, nodes)[..., None]
        sheets[stiff.layer] = sheets[stiff.layer] + share * np.array([1.0, 1.0, 0.0])
    entries = [
        spreading(lines, nodes.board, each, int(row[0])) for each, row in zip(sheets, rows, strict=True)
    ]
    entries += [
        joined(above, below, area * laminate.conductivity / gap)
        for above, below, gap in zip(rows[:-1], rows[1:], plate.dielectric, strict=True)
    ]
    beside = (*_core_entries(plate, nodes), *_track_entries(plate, nodes))
    return [*entries, *_body_entries(lines, nodes), *beside]


def _stiff_share(stiff: StiffSheet, lines: Grid, nodes: Nodes) -> Floats:
    """Of each cell's board, what a stiffener covers, (ny, nx)."""
    board = nodes.board.area
    return np.minimum(lines.cover(stiff.outline), board) / np.where(board > 0, board, np.inf)


def _body_entries(lines: Grid, nodes: Nodes) -> list[Entries]:
    entries = []
    for body, own, numbers in nodes.bodies:
        even = np.array([1.0, 1.0, 0.0]) * body.conductivity * body.thickness
        along = np.broadcast_to(even, (*own.area.shape, 3))
        entries.append(spreading(lines, own, along, int(numbers[0])))
        if not body.joined:
            continue
        touching = np.minimum(own.area, nodes.board.area)
        through = body.contact + body.thickness / (2 * body.conductivity)
        area = nodes.board.shared(touching)
        own_vertex = own.vertex[nodes.board.vertex >= 0]
        both = (own_vertex >= 0) & (area > 0)
        row = nodes.rows[0 if body.face == "top" else -1]
        entries.append(joined(row[both], numbers[own_vertex[both]], area[both] / through))
    return entries


def _core_entries(plate: Plate, nodes: Nodes) -> Iterator[Entries]:
    for placed, number in zip(plate.cores, nodes.cores, strict=True):
        wall = nodes.board.along(placed.wall)
        at = np.flatnonzero(wall)
        whole = placed.core.contact_area / placed.core.contact / len(nodes.rows)
        for row in nodes.rows:
            yield joined(row[at], np.full(len(at), number), whole * wall[at] / wall.sum())


def _capacity(plate: Plate, lines: Grid, nodes: Nodes, filled: list[Filling]) -> Floats:
    whole, laminate, board = np.zeros(nodes.count), plate.laminate, nodes.board
    for layer, filling, behind, row in zip(
        plate.layers, filled, backing(plate.dielectric), nodes.rows, strict=True
    ):
        each = behind * laminate.density * laminate.heat_capacity + copper_capacity(layer, filling)
        whole[row] = board.shared(board.area * each)
    for stiff in plate.stiffeners:
        each = stiff.capacity * board.area * _stiff_share(stiff, lines, nodes)
        whole[nodes.rows[stiff.layer]] += board.shared(each)
    for body, own, numbers in nodes.bodies:
        whole[numbers] = own.shared(own.area) * body.thickness * body.density * body.heat_capacity
    for placed, number in zip(plate.cores, nodes.cores, strict=True):
        whole[number] = placed.core.heat_capacity
    return whole


def _resistances(plate: Plate, nodes: Nodes, share: list[Floats]) -> Iterator[tuple[Indices, Floats]]:
    """Of each winding, ohm by node: its turns, and the tracks that belong to it."""
    beneath = _beneath_tracks(plate, nodes)
    for winding, part in zip(plate.windings, share, strict=True):
        where, ohm = nodes.rows.ravel(), np.outer(winding.resistance_20c, part).ravel()
        if plate.tracks is not None:
            where = np.concatenate([where, beneath])
            ohm = np.concatenate([ohm, winding.tracks_20c * plate.tracks.share])
        yield where, ohm


def _beneath_tracks(plate: Plate, nodes: Nodes) -> Indices:
    """Nodes nearest to the tracks' parts, (k,)."""
    from scipy.spatial import cKDTree

    if plate.tracks is None:
        return np.zeros(0, dtype=np.int64)
    _, vertex = cKDTree(nodes.board.places).query(plate.tracks.at)
    return np.asarray(nodes.rows[plate.tracks.layer, vertex])


def _track_entries(plate: Plate, nodes: Nodes) -> Iterator[Entries]:
    """What flows along tracks from node to node."""
    if plate.tracks is None:
        return
    beneath, vertices = _beneath_tracks(plate, nodes), nodes.board.count
    first, second, conducts = beneath[:-1], beneath[1:], plate.tracks.conducts[:-1]
    places = nodes.board.places
    apart = np.linalg.norm(places[first % vertices] - places[second % vertices], axis=1)
    on = (conducts > 0) & (apart > 0)
    yield joined(first[on], second[on], conducts[on] / apart[on])


def _stacked(rows: list[tuple[Indices, Floats]], count: int) -> Any:
    """Rows of nodes and values as a sparse matrix (rows, count) without its zeros."""
    from scipy.sparse import csr_array

    number = np.concatenate([np.full(len(nodes), row) for row, (nodes, _) in enumerate(rows)])
    nodes, values = (np.concatenate([each[k] for each in rows]) for k in (0, 1))
    kept = values != 0
    return csr_array((values[kept], (number[kept], nodes[kept])), shape=(len(rows), count))


def _parts(plate: Plate, nodes: Nodes) -> dict[str, Indices]:
    return {
        "board": nodes.rows.ravel(),
        **{body.name: numbers for body, _, numbers in nodes.bodies},
        **{placed.name: np.array([number]) for placed, number in zip(plate.cores, nodes.cores, strict=True)},
    }


def _field(nodes: Nodes) -> Indices:
    vertex, size = nodes.board.vertex, nodes.board.count
    return np.stack([np.where(vertex >= 0, vertex + size * row, -1) for row in range(len(nodes.rows))])


def _order(nodes: Nodes) -> Indices:
    """Vertices by nested dissection, each with its nodes in board and bodies; cores at last."""
    own = [np.where(each.vertex >= 0, numbers[each.vertex], -1) for _, each, numbers in nodes.bodies]
    columns = np.stack([*_field(nodes), *own], axis=-1)
    vertices = dissected(np.arange(columns[..., 0].size).reshape(columns.shape[:2]))
    found = columns.reshape(-1, columns.shape[2])[vertices].ravel()
    return np.concatenate([found[found >= 0], np.array(nodes.cores, dtype=np.int64)])
