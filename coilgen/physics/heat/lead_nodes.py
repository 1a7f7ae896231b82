"""Leads as nodes of a network of heat: their copper, the board round them, what joins it to the rest.

Over the winding's part of the board a lead is warmer than the ring beneath it by what it takes to spread its
heat; beyond, the strip is cut across its width and along its length.
"""

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.heat.body import COPPER_HEAT_CAPACITY, Laminate
from coilgen.physics.heat.lead_body import Leads, Stretch
from coilgen.physics.heat.lead_parts import LOSS, LeadNodes, Made, Root, Sheet, edge_resistance, half
from coilgen.physics.heat.lead_strip import Air, Cut

Floats = NDArray[np.float64]
Indices = NDArray[np.int64]

_NEAR_CELL = 0.5e-3
"""m, largest of a lead's cells over the winding's part."""


@dataclass(frozen=True, kw_only=True)
class Rings:
    """The board of one winding that leads leave: nodes (layers, rings), -1 for none; outer radii of the rings
    m; radius of the winding m."""

    nodes: Indices
    outer: Floats
    wound: float

    def at(self, lead: int, layer: int, along: float) -> int:
        """Node of a layer's ring so far from the winding, m; beyond the board that at its rim."""
        radius, there = self.wound + along, np.flatnonzero(self.nodes[layer] >= 0)
        ring = min(int(np.searchsorted(self.outer, radius * (1 - 1e-9))), int(there[-1]))
        return int(self.nodes[layer, ring])


@dataclass(frozen=True, kw_only=True)
class Held:
    """A board whose temperatures are known: how far from its winding each lead's are told, (k,) m each, 0 the
    first; nodes count lead by lead from 0, and the last is where the strip leaves the board.
    """

    places: tuple[Floats, ...]

    @property
    def count(self) -> int:
        """Of nodes."""
        return sum(map(len, self.places)) + 1

    def at(self, lead: int, layer: int, along: float) -> int:
        """Node of a lead's board nearest to a place, the same on all layers."""
        if math.isinf(along):
            return self.count - 1
        before = sum(map(len, self.places[:lead]))
        return before + int(np.argmin(np.abs(self.places[lead] - along)))


def lead_nodes(
    leads: Leads | None,
    dielectric: tuple[float, ...],
    laminate: Laminate,
    ground: Rings | Held,
    first: int,
    air: Air,
) -> LeadNodes:
    """Nodes of leads, numbered from `first`, none for None; dielectric: m, between each two copper layers."""
    made = Made(first)
    if leads is None:
        return made.found()
    board = Sheet(laminate, sum(dielectric) + sum(leads.covers))
    roots = [_near(made, leads, number, board, ground) for number in range(len(leads.leads))]
    if leads.strip is not None and any(lead.far for lead in leads.leads):
        Cut(leads.strip, leads, dielectric, board).lay(made, roots, ground.at(0, 0, math.inf), air)
    return made.found()


def _near(made: Made, leads: Leads, number: int, board: Sheet, ground: Rings | Held) -> Root:
    """A lead's copper from the winding over the board round it, node by node."""
    lead, at = leads.leads[number], 0.0
    root = Root(ground.at(number, (lead.near or lead.far)[0].layer, at), 0.0)
    for part in _cells(lead.near):
        node = made.node(part.section * part.length * COPPER_HEAT_CAPACITY, part.resistance_20c)
        made.join(root.node, node, 1 / (root.left + half(part)))
        under = ground.at(number, part.layer, at + part.length / 2)
        made.join(node, under, part.length / _spreading(part, board))
        root, at = Root(node, half(part)), at + part.length
    return root


def _spreading(part: Stretch, board: Sheet) -> float:
    """Of the heat of a lead, beside others, into a wide board that loses it, K m/W.

    Lines across an endless sheet: half a fin's resistance, 1/(2 sqrt(h k t)), with what as warm others add
    where their warmth has faded so far, and half the edges'.
    """
    others = sum(math.exp(-apart / board.fin) for apart in part.beside)
    line = (1 + others) / (2 * math.sqrt(LOSS * board.along))
    return line + edge_resistance(part.width, board.thickness, board.laminate) / 2


def _cells(stretches: tuple[Stretch, ...]) -> Iterator[Stretch]:
    for part in stretches:
        count = max(1, min(8, math.ceil(part.length / _NEAR_CELL)))
        each = replace(part, length=part.length / count, resistance_20c=part.resistance_20c / count)
        yield from [each] * count
