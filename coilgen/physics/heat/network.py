"""An assembly as a network of heat: rings of each layer and plate, their joints, their faces to the air."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cached_property
from typing import Any, TypedDict

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.heat.body import (
    COPPER_CONDUCTIVITY,
    COPPER_HEAT_CAPACITY,
    ZERO_CELSIUS,
    Assembly,
    CopperLayer,
    Laminate,
    MountedPlate,
    Stiffened,
    Surroundings,
    WoundBoard,
)
from coilgen.physics.heat.convection import FACINGS, Shown
from coilgen.physics.heat.faces import Face, free_faces, shown_faces
from coilgen.physics.heat.lead_body import Leads
from coilgen.physics.heat.lead_nodes import Held, Rings, lead_nodes
from coilgen.physics.heat.lead_parts import LeadNodes
from coilgen.physics.heat.lead_strip import Air
from coilgen.physics.heat.rings import (
    Floats,
    Indices,
    node_numbers,
    plates,
    ring_areas,
    ring_edges,
    ring_middles,
    wound_rings,
)
from coilgen.physics.heat.sheet_conduction import islands_conductivity

Each = Any
"""A number; of a stack an array (e, 1)."""


@dataclass(frozen=True, kw_only=True)
class Network:
    """n nodes and s faces. Temperatures in K.

    conductance (n, n) W/K: Laplacian matrix of the joints; capacity (n,) J/K; resistance_20c (n,) ohm of the
    turns in each node; eddy_resistance (n,) ohm: heat of eddy currents in its metal over the mean square of
    the winding's current, at any temperature; area (n,) m² seen from the top, 0 for a core in the pocket;
    face_area (s, n) m² each node shows on each face; film_area (s, n) m²: what
    convection counts of it; shown: what the faces offer to the air; emissivity (s,); faces: their names;
    parts: node indices by name: "board", "top", "bottom", "core", "leads" (their copper alone), "strip".
    radius (n,) m: of the middle of each node's area.
    A stack of e networks (`together`) has conductance (e, n, n), resistance_20c and eddy_resistance (e, n),
    ambient and convection_factor (e, 1).
    """

    conductance: Floats
    capacity: Floats
    resistance_20c: Floats
    eddy_resistance: Floats
    area: Floats
    face_area: Floats
    film_area: Floats
    shown: Shown
    emissivity: Floats
    faces: tuple[str, ...]
    parts: dict[str, Indices]
    radius: Floats
    ambient: Each
    convection_factor: Each
    forced_coefficient: float | None
    temperature_coefficient: float

    def those(self, which: NDArray[np.bool_]) -> "Network":
        """Of a stack, some."""
        own: dict[str, Any] = {name: getattr(self, name)[which] for name in _OWN}
        return replace(self, **own)

    @property
    def coil(self) -> NDArray[np.bool_]:
        """Which nodes hold turns that carry current, (n,)."""
        return self.resistance_20c > 0

    @cached_property
    def share_of_face(self) -> Floats:
        """Of each face's area, what each node shows on it, (s, n)."""
        return np.asarray(self.face_area / self.face_area.sum(axis=1)[:, None])

    @cached_property
    def radiating(self) -> Floats:
        """Area that each node shows, weighed by emissivity, (n,) m²."""
        return np.asarray(self.emissivity @ self.face_area)


def network(assembly: Assembly) -> Network:
    """The network of an assembly; its discs are cut into rings at every radius where something ends."""
    edges = ring_edges(assembly)
    nodes = node_numbers(assembly, edges)
    count = 1 + max(int(index.max()) for index in nodes.values())
    led = _leads(assembly, edges, nodes["board"], count)
    whole, none = count + len(led.capacity), np.zeros(len(led.capacity))
    joints = [
        *_board_joints(assembly.board, edges, nodes["board"]),
        *_mounting_joints(assembly, edges, nodes),
        *led.joints,
    ]
    turns = _turn_resistance(assembly.board, edges, nodes["board"], count)
    own = {name: index for name, index in (("leads", led.copper), ("strip", led.strip)) if len(index)}
    return Network(
        conductance=_laplacian(joints, whole),
        capacity=np.append(_capacity(assembly, edges, nodes, count), led.capacity),
        resistance_20c=np.append(turns, led.resistance_20c),
        eddy_resistance=np.zeros(whole),
        area=np.append(_by_ring(ring_areas(edges), nodes, count), none),
        parts={**{name: index[index >= 0] for name, index in nodes.items()}, **own},
        radius=np.append(_by_ring(ring_middles(edges), nodes, count), none),
        temperature_coefficient=assembly.temperature_coefficient,
        **_in_air([*shown_faces(assembly, edges, nodes), *led.faces], assembly.surroundings, whole),
    )


_OWN = ("conductance", "resistance_20c", "eddy_resistance", "ambient", "convection_factor")
"""What each network of a stack has of its own."""


def together(networks: Sequence[Network]) -> Network:
    """One stack of networks that differ in joints, convection, copper, eddy currents and air alone."""
    own: dict[str, Any] = {
        name: np.array([np.atleast_1d(getattr(net, name)) for net in networks]) for name in _OWN
    }
    return replace(networks[0], **own)


def _leads(assembly: Assembly, edges: Floats, nodes: Indices, first: int) -> LeadNodes:
    """Nodes of leads counted where they are; none where there are none."""
    board, air = assembly.board, assembly.surroundings
    return lead_nodes(
        assembly.leads,
        board.dielectric,
        board.laminate,
        Rings(nodes=nodes, outer=edges[1:], wound=board.winding_outer_radius),
        first,
        {"orientation": air.orientation, "emissivity": board.emissivity},
    )


def leads_alone(
    leads: Leads,
    dielectric: tuple[float, ...],
    laminate: Laminate,
    held: Held,
    air: Surroundings,
    *,
    emissivity: float,
    temperature_coefficient: float,
) -> Network:
    """Leads of a board whose temperatures are known elsewhere: its nodes come first, held.count of them."""
    looks: Air = {"orientation": air.orientation, "emissivity": emissivity}
    led = lead_nodes(leads, dielectric, laminate, held, held.count, looks)
    none, whole = np.zeros(held.count), held.count + len(led.capacity)
    return Network(
        conductance=_laplacian(led.joints, whole),
        capacity=np.append(none + 1.0, led.capacity),
        resistance_20c=np.append(none, led.resistance_20c),
        eddy_resistance=np.zeros(whole),
        area=np.zeros(whole),
        parts={"leads": led.copper},
        radius=np.zeros(whole),
        temperature_coefficient=temperature_coefficient,
        **_in_air(led.faces, air, whole),
    )


def free_body(plate: MountedPlate, air: Surroundings) -> Network:
    """A plate alone in the air, of one temperature, in which eddy currents make heat: of one ohm."""
    return Network(
        conductance=np.zeros((1, 1)),
        capacity=np.array([plate.heat_capacity * plate.density * plate.area * plate.thickness]),
        resistance_20c=np.zeros(1),
        eddy_resistance=np.ones(1),
        area=np.array([plate.area]),
        parts={"body": np.zeros(1, dtype=np.int64)},
        radius=np.zeros(1),
        temperature_coefficient=0.0,
        **_in_air(list(free_faces(plate, air.orientation)), air, 1),
    )


class _InAir(TypedDict):
    face_area: Floats
    film_area: Floats
    shown: Shown
    emissivity: Floats
    faces: tuple[str, ...]
    ambient: float
    convection_factor: float
    forced_coefficient: float | None


def _in_air(found: list[Face], air: Surroundings, count: int) -> _InAir:
    """What a network tells of its faces; without those that show no area."""
    faces = [face for face in found if face.area.sum() > 0]
    film = _even if air.forced_coefficient is not None else _growing
    return {
        "face_area": np.array([_spread(face.nodes, face.area, count) for face in faces]).reshape(-1, count),
        "film_area": np.array([_spread(face.nodes, film(face), count) for face in faces]).reshape(-1, count),
        "shown": shown_of(faces),
        "emissivity": np.array([face.emissivity for face in faces]),
        "faces": tuple(face.name for face in faces),
        "ambient": air.ambient + ZERO_CELSIUS,
        "convection_factor": air.convection_factor,
        "forced_coefficient": air.forced_coefficient,
    }


def with_eddy_currents(net: Network, resistances: Mapping[str, float], own: float = 0.0) -> Network:
    """The network with heat of eddy currents in some parts, ohm: "top", "bottom", "core"; own: in its copper.

    A plate makes it beneath the winding, where the currents go round with it, evenly; one that ends within
    the winding's inner edge makes it everywhere. The copper makes it where it has its resistance.
    """
    added = net.eddy_resistance + own * net.resistance_20c / net.resistance_20c.sum()
    for part, resistance in resistances.items():
        nodes = net.parts[part]
        share = _beneath(net, nodes)
        added[nodes] += resistance * share / share.sum()
    return replace(net, eddy_resistance=added)


def _beneath(net: Network, nodes: Indices) -> Floats:
    """Areas of nodes beneath the winding; of all where there are none, as for a core in the pocket."""
    board = net.parts["board"]
    wound = net.radius[board[net.coil[board]]]
    under = (net.radius[nodes] >= wound.min()) & (net.radius[nodes] <= wound.max())
    if len(nodes) == 1:
        return np.ones(1)
    return np.where(under, net.area[nodes], 0.0) if under.any() else net.area[nodes]


def _even(face: Face) -> Floats:
    return face.area


def _growing(face: Face) -> Floats:
    return face.film


def shown_of(faces: list[Face]) -> Shown:
    """What faces offer to the air."""
    return Shown(
        facing=np.array([FACINGS.index(face.facing) for face in faces], dtype=np.int64),
        free=np.array([face.free for face in faces]),
        height=np.array([face.height for face in faces]),
        breadth=np.array([face.breadth for face in faces]),
    )


Joint = tuple[Indices, Indices, Floats]


def _board_joints(board: WoundBoard, edges: Floats, nodes: Indices) -> Iterator[Joint]:
    areas, laminate = ring_areas(edges), board.laminate
    there = nodes[0] >= 0
    for row, sheet in zip(nodes, _sheets(board, edges), strict=True):
        yield from _radial_joints(row, edges, sheet)
    for above, below, gap in zip(nodes[:-1], nodes[1:], board.dielectric, strict=True):
        yield above[there], below[there], (areas * laminate.conductivity / gap)[there]


def _sheets(board: WoundBoard, edges: Floats) -> list[Floats]:
    """Conductivity times thickness of each layer with its share of the laminate, W/K, in each ring."""
    wound, laminate = wound_rings(board, edges), board.laminate.conductivity_in_plane
    sheets = []
    for layer, backing in zip(board.layers, _backing(board), strict=True):
        # Across the turns copper and laminate alternate, in series; poured copper lies beside what is bare.
        across = 1 / (layer.coverage / COPPER_CONDUCTIVITY + (1 - layer.coverage) / laminate)
        between = islands_conductivity(laminate, COPPER_CONDUCTIVITY, layer.island_coverage)
        rest = layer.pour_coverage * COPPER_CONDUCTIVITY + (1 - layer.pour_coverage) * between
        sheet = layer.thickness * np.where(wound, across, rest) + backing * laminate
        sheets.append(sheet * _easing(board, edges))
    for stiff in board.stiffened:
        sheets[stiff.layer] = sheets[stiff.layer] + stiff.sheet * _beneath_stiff(stiff, edges)
    return sheets


def _beneath_stiff(stiff: Stiffened, edges: Floats) -> NDArray[np.bool_]:
    """Rings that a stiffener covers."""
    return np.asarray(ring_middles(edges) < stiff.radius)


def _easing(board: WoundBoard, edges: Floats) -> Floats:
    """How many times better heat leaves each ring than in a winding of circles: as its edges are longer.

    A narrower winding of the same area does so even better; but heat leaves the ends of a long one worse
    than its sides. Finite elements of all shapes (tests) lie between its first and its second power, nearer
    to the first.
    """
    inner, outer = board.winding_inner_radius, board.winding_outer_radius
    lengthening = [board.inner_lengthening, board.outer_lengthening]
    easing: Floats = np.interp(ring_middles(edges), [inner, outer], lengthening)
    return easing


def _backing(board: WoundBoard) -> Floats:
    """Thickness of the dielectric that each layer's nodes stand for: half of each neighbour, m."""
    half = np.array([0.0, *board.dielectric, 0.0]) / 2
    return half[:-1] + half[1:]


def _radial_joints(row: Indices, edges: Floats, sheet: Floats) -> Iterator[Joint]:
    """Between neighbouring rings: the exact resistances of the half rings that meet, ln(ratio)/(2 pi k t)."""
    middle = ring_middles(edges)
    out = np.log(edges[1:] / middle) / (2 * np.pi * sheet)
    into = np.log(middle / np.where(edges[:-1] > 0, edges[:-1], middle)) / (2 * np.pi * sheet)
    both = (row[:-1] >= 0) & (row[1:] >= 0)
    yield row[:-1][both], row[1:][both], (1 / (out[:-1] + into[1:]))[both]


def _mounting_joints(assembly: Assembly, edges: Floats, nodes: dict[str, Indices]) -> Iterator[Joint]:
    areas = ring_areas(edges)
    for name, plate, side in plates(assembly):
        row, face = nodes[name][0], nodes["board"][side]
        sheet = plate.conductivity * plate.thickness * _easing(assembly.board, edges)
        yield from _radial_joints(row, edges, sheet)
        both = (row >= 0) & (face >= 0)
        through = plate.contact + plate.thickness / (2 * plate.conductivity)
        yield face[both], row[both], areas[both] / through
    if assembly.core is not None:
        wall = nodes["board"][:, np.argmax(nodes["board"][0] >= 0)]
        each = assembly.core.contact_area / assembly.core.contact / len(wall)
        yield wall, np.repeat(nodes["core"][0], len(wall)), np.full(len(wall), each)


def _laplacian(joints: list[Joint], count: int) -> Floats:
    matrix = np.zeros((count, count))
    for one, other, conductance in joints:
        np.add.at(matrix, (one, other), -conductance)
        np.add.at(matrix, (other, one), -conductance)
    matrix[np.diag_indices(count)] = -matrix.sum(axis=1)
    return matrix


def _spread(nodes: Indices, values: Floats, count: int) -> Floats:
    whole = np.zeros(count)
    np.add.at(whole, nodes, values)
    return whole


def _capacity(assembly: Assembly, edges: Floats, nodes: dict[str, Indices], count: int) -> Floats:
    areas, board = ring_areas(edges), assembly.board
    wound, whole = wound_rings(board, edges), np.zeros(count)
    for row, layer, backing in zip(nodes["board"], board.layers, _backing(board), strict=True):
        each = backing * board.laminate.density * board.laminate.heat_capacity + _copper(layer, wound)
        whole[row[row >= 0]] = (areas * each)[row >= 0]
    for stiff in board.stiffened:
        row = nodes["board"][stiff.layer]
        whole[row[row >= 0]] += (areas * stiff.capacity * _beneath_stiff(stiff, edges))[row >= 0]
    for name, plate, _ in plates(assembly):
        row = nodes[name][0]
        whole[row[row >= 0]] = areas[row >= 0] * plate.thickness * plate.density * plate.heat_capacity
    if assembly.core is not None:
        whole[nodes["core"].ravel()] = assembly.core.heat_capacity
    return whole


def _copper(layer: CopperLayer, wound: NDArray[np.bool_]) -> Floats:
    """Heat capacity of the layer's copper on an area, J/(m² K), in each ring."""
    rest = layer.pour_coverage + (1 - layer.pour_coverage) * layer.island_coverage
    return layer.thickness * COPPER_HEAT_CAPACITY * np.where(wound, layer.coverage, rest)


def _turn_resistance(board: WoundBoard, edges: Floats, nodes: Indices, count: int) -> Floats:
    share = np.where(wound_rings(board, edges), ring_areas(edges), 0.0)
    share, there = share / share.sum(), nodes[0] >= 0
    whole = np.zeros(count)
    for row, layer in zip(nodes, board.layers, strict=True):
        whole[row[there]] = (share * layer.resistance_20c)[there]
    return whole


def _by_ring(values: Floats, nodes: dict[str, Indices], count: int) -> Floats:
    """What each ring tells, for its nodes; 0 for a core in the pocket."""
    whole = np.zeros(count)
    for name, index in nodes.items():
        if name != "core":
            for row in index:
                whole[row[row >= 0]] = values[row >= 0]
    return whole
