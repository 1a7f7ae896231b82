"""Closed forms of one winding, as columns that estimates learn over besides the keys.

A figure of copper is nearly a product of powers of the copper's resistance, its inductance and its force on
a magnet, as closed forms tell them. Their logarithms make it nearly a plane where the keys alone leave it
curved, and what was learned of one shape or shop holds for the others. Force is told by the screen's rings.
What the screen learns by itself is no use here: it takes 30 exact runs and more for each family of designs,
and choices make many families. States of fixed cores are not combined for it either: they take some nine
exact runs for each set of cores, where a whole search beside cores takes about forty.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from coilgen.errors import DesignError
from coilgen.frozen import dataclass
from coilgen.physics.inductance.closed_forms import CURRENT_SHEET
from coilgen.physics.inductance.ring_tables import RingWindings, RoundMagnets, rings_force
from coilgen.study.screen.family import magnet_sizes
from coilgen.study.search.space import Words

if TYPE_CHECKING:
    from coilgen.design.design import Design
    from coilgen.study.search.problem import Problem
    from coilgen.study.search.space import Space

Array = np.ndarray[Any, np.dtype[np.float64]]
_Read = Callable[[Array], Array]

_UNITS = dict.fromkeys(("trace_width", "trace_spacing", "outer_size", "inner_size"), 1e-3)
_UNITS |= {"turns": 1.0, "layers": 1.0}
"""Numbers of the winding that forms take, and the units of their keys."""
_OF_COPPER = {"turns", "trace_width", "trace_spacing"}
_LEAST = 1e-5
"""m: turns for which there is no room are taken to lie there; such designs are never run."""
_RINGS = 96
"""From the least radius to the largest, of which the force is computed."""


@dataclass(frozen=True, kw_only=True)
class Forms:
    """What gives columns of a search's rows.

    numbers: of the winding by key, SI, each a function of rows; inside: whether the opening's size is what
    is told, and the outer one follows. push: radii of rings, m, and their force on a magnet on the axis, N/A.
    """

    numbers: Mapping[str, _Read]
    inside: bool
    push: tuple[Array, Array] | None

    def at(self, rows: Array) -> Array:
        """Logarithms of resistance, inductance and force but for factors, (n, 2 or 3); rows (n, axes)."""
        of = {name: read(rows) for name, read in self.numbers.items()}
        turns, width, layers = of["turns"], of["trace_width"], of["layers"]
        pitch = width + of["trace_spacing"]
        outer = (
            of["inner_size"] + 2 * (turns * pitch - of["trace_spacing"]) if self.inside else of["outer_size"]
        )
        first = (outer - width) / 2
        mean = np.maximum(2 * first - pitch * (turns - 1), _LEAST)
        columns = [np.log(layers * turns * mean / width), _sheet(layers * turns, turns * pitch, mean)]
        if self.push is not None:
            columns.append(np.log(layers) + _pushed(self.push, first, pitch, turns))
        return np.stack(columns, axis=1)


def forms(asked: Problem, space: Space) -> Forms | None:
    """Of one winding whose numbers are told; None for sectors, for sizes told as two, and for several."""
    try:
        design = asked.built(asked.start)
    except DesignError:
        return None
    table = design.written.get("winding")
    if design.windings or not isinstance(table, Mapping) or not {*table} >= _OF_COPPER:
        return None
    numbers = _numbers(asked, space, design)
    if numbers is None:
        return None
    inside = "outer_size" not in table
    return Forms(numbers=numbers, inside=inside, push=_push(design))


def _numbers(asked: Problem, space: Space, design: Design) -> Mapping[str, _Read] | None:
    """Each number as it varies, or the design's own; None where one is no number."""
    varied = {axis.key: k for k, axis in enumerate(asked.axes)}
    found: dict[str, _Read] = {}
    for name, unit in _UNITS.items():
        own = getattr(design.winding, name)
        k = varied.get(f"winding.{name}")
        if not isinstance(own, int | float) or design.winding.ring is not None:
            return None
        if k is None:
            found[name] = _same(float(own))
        elif isinstance(column := space.columns[k], Words):
            return None
        else:
            found[name] = _varied(column.numbers, k, unit)
    return found


def _same(own: float) -> _Read:
    return lambda rows: np.full(len(rows), own)


def _varied(numbers: _Read, k: int, unit: float) -> _Read:
    return lambda rows: unit * numbers(rows[:, k])


def _sheet(turns: Array, depth: Array, mean: Array) -> Array:
    """Logarithm of the inductance as sheets of current, of round ones (Mohan et al. 1999): what shapes and
    distances of layers make of it is learned."""
    c1, c2, c3, c4 = CURRENT_SHEET["round"]
    fill = np.minimum(depth / mean, 1.0)
    told: Array = np.log(turns**2 * mean * c1 * (np.log(c2 / fill) + c3 * fill + c4 * fill**2))
    return told


def _push(design: Design) -> tuple[Array, Array] | None:
    """Radii, m, and a ring's force on the magnet half way between the wound layers, N/A."""
    magnet = design.magnet
    if magnet is None or magnet.pole not in ("up", "down") or any(magnet.offset):
        return None
    stackup = design.board.stackup
    middle = float(np.mean([stackup.height(layer) for layer in range(1, design.winding.layers + 1)]))
    radii = np.geomspace(_LEAST, 4 * max(design.winding.outer), _RINGS)
    one, none = np.ones_like(radii), np.zeros_like(radii)
    rings = RingWindings(first=radii, pitch=none, width=none, thickness=none, turns=one)
    radius, hole, bottom, top, remanence = (np.full_like(radii, size) for size in magnet_sizes(design))
    magnets = RoundMagnets(radius=radius, hole=hole, bottom=bottom, top=top, remanence=np.abs(remanence))
    return radii, np.abs(rings_force(rings, (middle,), magnets))


def _pushed(push: tuple[Array, Array], first: Array, pitch: Array, turns: Array) -> Array:
    """Logarithm of the force of one layer; turns may be parts of one."""
    numbers = np.arange(int(np.ceil(turns.max())))
    there = np.clip(turns[:, None] - numbers, 0.0, 1.0)
    radii = np.maximum(first[:, None] - pitch[:, None] * numbers, _LEAST)
    told: Array = np.log((there * np.interp(radii, *push)).sum(axis=1))
    return told
