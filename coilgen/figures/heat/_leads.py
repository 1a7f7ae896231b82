"""Leads between the winding and its terminals, as the heat model takes them.

Those down a tail, and those of a board whose design tells their width or how far the terminals stand, make
their heat where they are. Other leads are as wide as the turns and short: their heat counts in the winding.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING

import numpy as np

from coilgen.design.stackup import Stackup, laminate
from coilgen.geometry.containment import contains
from coilgen.geometry.extent import extent
from coilgen.geometry.path import Path
from coilgen.geometry.point import Point, cross, dot
from coilgen.layout.coil import TailStrip, Trace
from coilgen.layout.lengths import QUARTERS
from coilgen.layout.seen import copper_edges
from coilgen.result.figure import Case

if TYPE_CHECKING:
    from coilgen.physics.heat.lead_body import Lead, Leads, Stiff, Stretch, Strip
    from coilgen.physics.heat.outline import Outline

_STEP = 0.1e-3
"""m, of a lead followed outward; its heat is where it is to that."""
_WIDE = 3.0
"""Fin lengths of board on each side of leads without a tail, at most: farther out they warm nothing."""
_LOSS = 20.0
"""W/(m² K), of both faces, for that fin length alone."""


@dataclass(frozen=True)
class Step:
    """A short piece of a lead: its middle, m; copper layer from 1; width and length, m."""

    at: Point
    layer: int
    width: float
    length: float


def apart_from_winding(case: Case) -> bool:
    """Whether the heat of leads counts where they are."""
    terminals = case.design.terminals
    told = terminals.lead_width is not None or terminals.distance is not None
    return not case.windings and (case.coil.tail is not None or told) and bool(runs(case))


def runs(case: Case) -> tuple[tuple[Step, ...], ...]:
    """Each lead from the winding outward, in short steps."""
    return case.once("heat leads", lambda: tuple(run for run in _runs(case) if run))


def _runs(case: Case) -> Iterator[tuple[Step, ...]]:
    outer, _ = copper_edges(case.design)
    traces = case.coil.traces
    alone = [index not in case.coil.parallel for index in range(len(traces))]
    for order, back in ((range(len(traces)), False), (range(len(traces) - 1, -1, -1), True)):
        steps: list[Step] = []
        for index in order:
            if not alone[index]:
                break
            path = traces[index].path.reversed() if back else traces[index].path
            new = list(_steps(path, traces[index]))
            outside = ~contains(outer, np.array([step.at for step in new]))
            count = len(new) if outside.all() else int(np.argmin(outside))
            steps += new[:count]
            if count < len(new):
                break
        yield tuple(reversed(steps))


def _steps(path: Path, trace: Trace) -> Iterator[Step]:
    for segment in path.segments:
        count = max(1, math.ceil(segment.length / _STEP))
        for number in range(count):
            yield Step(segment.at((number + 0.5) / count), trace.layer, trace.width, segment.length / count)


def layer_squares(case: Case) -> list[float]:
    """Squares of the leads on each copper layer, that their heat counts apart from: length over width."""
    found = [0.0] * case.design.board.stackup.layers
    if apart_from_winding(case):
        for run in runs(case):
            for step in run:
                found[step.layer - 1] += step.length / step.width
    return found


def leads(case: Case, ohms: Sequence[float], reach: float, whole: "Outline") -> "Leads | None":
    """The leads; None where they count in the winding.

    ohms: of a square of each copper layer; reach: how far from the winding's edge the board counts as warm,
    m; whole: the board.
    """
    from coilgen.physics.heat.lead_body import Leads

    if not apart_from_winding(case):
        return None
    parted = [_parted(case, run, reach) for run in runs(case)]
    frame = _frame(case)
    made = tuple(
        _lead(case, near, far, ohms, frame.aside([step.at for step in far or near])) for near, far in parted
    )
    lengths = [sum(step.length for step in far) for _, far in parted if far]
    apart = [lead.across for lead in made]
    stackup = case.design.board.stackup
    covers = [stackup.mask_thickness * (face in stackup.masked_faces) for face in ("top", "bottom")]
    return Leads(
        leads=made,
        strip=_strip(case, frame, made, lengths, whole) if lengths else None,
        covers=(covers[0], covers[1]),
        apart=max(apart) - min(apart) if len(apart) > 1 else math.inf,
    )


@dataclass(frozen=True)
class _Frame:
    """The line that leads run along: a point of it and its unit vector outward."""

    origin: Point
    out: Point

    def along(self, at: Point) -> float:
        return dot(self.out, at - self.origin)

    def aside(self, points: Iterable[Point]) -> float:
        """Of most of the points from the line, m, to its left."""
        return float(np.median([cross(self.out, at - self.origin) for at in points]))


def _frame(case: Case) -> _Frame:
    tail = case.coil.tail
    if tail is not None:
        return _Frame(tail.origin, tail.out)
    return _Frame(0j, -1j * 1j ** QUARTERS[case.design.terminals.side])


Run = tuple[Step, ...]


def _parted(case: Case, run: Run, reach: float) -> tuple[Run, Run]:
    """A lead over the warm part of the board, and beyond: down the tail, or past what the winding warms."""
    tail = case.coil.tail
    if tail is not None:
        frame = _frame(case)
        beyond = [frame.along(step.at) > 0 for step in run]
    else:
        beyond = list(np.cumsum([step.length for step in run]) > reach)
    count = beyond.index(True) if any(beyond) else len(run)
    return run[:count], run[count:]


def _lead(case: Case, near: Run, far: Run, ohms: Sequence[float], across: float) -> "Lead":
    from coilgen.physics.heat.lead_body import Lead

    stackup = case.design.board.stackup
    return Lead(
        near=tuple(_stretches(near, stackup, ohms)),
        far=tuple(_stretches(far, stackup, ohms)),
        across=across,
    )


def _stretches(run: Run, stackup: Stackup, ohms: Sequence[float]) -> "Iterator[Stretch]":
    """Steps of one width and layer together."""
    from coilgen.physics.heat.lead_body import Stretch

    for (layer, width), steps in groupby(run, key=lambda step: (step.layer, step.width)):
        length = sum(step.length for step in steps)
        yield Stretch(
            length=length,
            width=width,
            thickness=stackup.copper[layer - 1],
            layer=layer - 1,
            resistance_20c=ohms[layer - 1] * length / width,
        )


def _strip(
    case: Case, frame: _Frame, made: "Sequence[Lead]", lengths: Sequence[float], whole: "Outline"
) -> "Strip":
    from coilgen.physics.heat.lead_body import Strip

    tail = case.coil.tail
    if tail is None:
        return Strip(length=max(lengths), width=_bare_width(case, frame, made), outline=whole)
    return Strip(
        length=tail.length,
        width=tail.width,
        outline=_tail_outline(tail),
        stiff=tuple(_stiff(case, tail)),
    )


def _tail_outline(tail: TailStrip) -> "Outline":
    from coilgen.physics.heat.outline import rectangle

    upright = abs(tail.out.imag) > 0.5
    along, across = (tail.length, tail.width)
    return rectangle(across, along) if upright else rectangle(along, across)


def _bare_width(case: Case, frame: _Frame, made: "Sequence[Lead]") -> float:
    """Of the board round leads without a tail: to its edge, or as far as they warm it, m."""
    stackup = case.design.board.stackup
    fin = math.sqrt(stackup.laminate.heat_conductivity_in_plane * stackup.thickness / _LOSS)
    half = max(abs(lead.across) + lead.far[0].width / 2 for lead in made if lead.far)
    if case.art.outline is None:
        return 2 * (half + fin)
    sides = [cross(frame.out, corner - frame.origin) for corner in extent(case.art.outline)]
    return 2 * max(half, min(half + _WIDE * fin, *map(abs, sides)))


def _stiff(case: Case, tail: TailStrip) -> "Iterator[Stiff]":
    """Stiffeners where they lie on the tail; of those that cover a part of its width, that part."""
    from coilgen.physics.heat.lead_body import Stiff

    frame = _Frame(tail.origin, tail.out)
    for sheet in case.art.stiffeners:
        corners = extent(sheet.path)
        along = sorted(frame.along(corner) for corner in corners)
        aside = sorted(cross(tail.out, corner - tail.origin) for corner in corners)
        start, end = max(along[0], 0.0), min(along[1], tail.length)
        across = min(aside[1], tail.width / 2) - max(aside[0], -tail.width / 2)
        if start < end and across > 0:
            facts, share = laminate(sheet.material), across / tail.width
            yield Stiff(
                start=start,
                end=end,
                sheet=share * facts.heat_conductivity_in_plane * sheet.thickness,
                capacity=share * facts.density * facts.heat_capacity * sheet.thickness,
            )
