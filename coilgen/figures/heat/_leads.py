"""Leads between the winding and its terminals, as the heat model takes them.

Those down a tail, and those of a board whose design tells their width or how far the terminals stand, make
their heat where they are. Other leads are as wide as the turns and short: their heat counts in the winding.
"""

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby
from typing import TYPE_CHECKING

import numpy as np

from coilgen.design.stackup import Stackup, laminate
from coilgen.frozen import dataclass
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
_FAR = 10e-3
"""m, from which on leads do not warm one another."""
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
        found: list[Step] = []
        for index in order:
            if not alone[index]:
                break
            path = traces[index].path.reversed() if back else traces[index].path
            new = list(steps(path, traces[index]))
            outside = ~contains(outer, np.array([step.at for step in new]))
            count = len(new) if outside.all() else int(np.argmin(outside))
            found += new[:count]
            if count < len(new):
                break
        yield tuple(reversed(found))


def steps(path: Path, trace: Trace) -> Iterator[Step]:
    """A trace's path, or its reverse, in short steps."""
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
    parted_runs = [_parted(case, run, reach) for run in runs(case)]
    frame = _frame(case)
    stackup = case.design.board.stackup
    nears = [near for near, _ in parted_runs]
    made = tuple(led(near, far, others_of(near, nears), stackup, ohms, frame) for near, far in parted_runs)
    lengths = [sum(step.length for step in far) for _, far in parted_runs if far]
    return Leads(
        leads=made,
        strip=_strip(case, frame, made, lengths, whole) if lengths else None,
        covers=covers_of(case),
    )


@dataclass(frozen=True)
class Frame:
    """The line that leads run along: a point of it and its unit vector outward."""

    origin: Point
    out: Point

    @classmethod
    def of(cls, tail: TailStrip) -> "Frame":
        """The middle line of a tail from where it leaves the winding's part."""
        return cls(tail.origin, tail.out)

    def along(self, at: Point) -> float:
        """How far outward a point is, m."""
        return dot(self.out, at - self.origin)

    def aside(self, points: Iterable[Point]) -> float:
        """Of most of the points from the line, m, to its left."""
        return float(np.median([cross(self.out, at - self.origin) for at in points]))


def _frame(case: Case) -> Frame:
    tail = case.coil.tail
    if tail is not None:
        return Frame.of(tail)
    return Frame(0j, -1j * 1j ** QUARTERS[case.design.terminals.side])


Run = tuple[Step, ...]


def _parted(case: Case, run: Run, reach: float) -> tuple[Run, Run]:
    """A lead over the warm part of the board, and beyond: down the tail, or past what the winding warms."""
    frame = _frame(case)
    if case.coil.tail is not None:
        return parted_at_tail(run, frame)
    return _parted_where(run, list(np.cumsum([step.length for step in run]) > reach))


def parted_at_tail(run: Sequence[Step], frame: Frame) -> tuple[Run, Run]:
    """A lead up to where the tail begins, and down it."""
    return _parted_where(run, [frame.along(step.at) > 0 for step in run])


def _parted_where(run: Sequence[Step], beyond: Sequence[bool]) -> tuple[Run, Run]:
    """Up to the first step that is beyond, and from there on."""
    count = list(beyond).index(True) if any(beyond) else len(run)
    return tuple(run[:count]), tuple(run[count:])


def led(
    near: Run, far: Run, others: Sequence[Run], stackup: Stackup, ohms: Sequence[float], frame: Frame
) -> "Lead":
    """A lead as the network takes it; others: those near it; ohms: of a square of each copper layer."""
    from coilgen.physics.heat.lead_body import Lead

    return Lead(
        near=tuple(_stretches(near, others, stackup, ohms)),
        far=tuple(_stretches(far, (), stackup, ohms)),
        across=frame.aside([step.at for step in far or near]),
    )


def others_of(run: Run, among: Sequence[Run]) -> list[Run]:
    """The other runs."""
    return [each for each in among if each is not run and each]


def _beside(run: Run, others: Sequence[Run]) -> list[tuple[float, ...]]:
    """How far other leads run from each step, where that is near, as the next lower of few distances; m."""
    at = np.array([step.at for step in run])
    apart = [
        np.abs(at[:, None] - np.array([step.at for step in other])).min(axis=1) for other in others if run
    ]
    found = [[float(each[k]) for each in apart] for k in range(len(run))]
    return [tuple(_lower(each) for each in own if each < _FAR) for own in found]


def _lower(distance: float) -> float:
    """The next of distances each half as large again as the one before, so that stretches stay long, m."""
    return _FAR / 1.5 ** math.ceil(math.log(_FAR / max(distance, 1e-5)) / math.log(1.5))


def _stretches(
    run: Run, others: Sequence[Run], stackup: Stackup, ohms: Sequence[float]
) -> "Iterator[Stretch]":
    """Steps of one width and layer, as far from others, together."""
    from coilgen.physics.heat.lead_body import Stretch

    marked = zip(run, _beside(run, others), strict=True)
    for (layer, width, beside), each in groupby(
        marked, key=lambda pair: (pair[0].layer, pair[0].width, pair[1])
    ):
        length = sum(step.length for step, _ in each)
        yield Stretch(
            length=length,
            width=width,
            thickness=stackup.copper[layer - 1],
            layer=layer - 1,
            resistance_20c=ohms[layer - 1] * length / width,
            beside=beside,
        )


def _strip(
    case: Case, frame: Frame, made: "Sequence[Lead]", lengths: Sequence[float], whole: "Outline"
) -> "Strip":
    from coilgen.physics.heat.lead_body import Strip

    tail = case.coil.tail
    if tail is not None:
        return strip_of(case, tail)
    return Strip(length=max(lengths), width=_bare_width(case, frame, made), outline=whole)


def strip_of(case: Case, tail: TailStrip) -> "Strip":
    """A tail as a strip with its stiffeners."""
    from coilgen.physics.heat.lead_body import Strip

    return Strip(
        length=tail.length,
        width=tail.width,
        outline=_tail_outline(tail),
        stiff=tuple(_stiff(case, tail)),
    )


def covers_of(case: Case) -> tuple[float, float]:
    """Thickness of mask or coverlay on the top and on the bottom, m."""
    stackup = case.design.board.stackup
    top, bottom = (stackup.mask_thickness * (face in stackup.masked_faces) for face in ("top", "bottom"))
    return top, bottom


def _tail_outline(tail: TailStrip) -> "Outline":
    from coilgen.physics.heat.outline import rectangle

    upright = abs(tail.out.imag) > 0.5
    along, across = (tail.length, tail.width)
    return rectangle(across, along) if upright else rectangle(along, across)


def bare_fin(stackup: Stackup) -> float:
    """Over which the warmth of bare board round leads fades by a factor e, m."""
    return math.sqrt(stackup.laminate.heat_conductivity_in_plane * stackup.thickness / _LOSS)


def _bare_width(case: Case, frame: Frame, made: "Sequence[Lead]") -> float:
    """Of the board round leads without a tail: to its edge, or as far as they warm it, m."""
    stackup = case.design.board.stackup
    fin = bare_fin(stackup)
    half = max(abs(lead.across) + lead.far[0].width / 2 for lead in made if lead.far)
    if case.art.outline is None:
        return 2 * (half + fin)
    sides = [cross(frame.out, corner - frame.origin) for corner in extent(case.art.outline)]
    return 2 * max(half, min(half + _WIDE * fin, *map(abs, sides)))


def _stiff(case: Case, tail: TailStrip) -> "Iterator[Stiff]":
    """Stiffeners where they lie on the tail; of those that cover a part of its width, that part."""
    from coilgen.physics.heat.lead_body import Stiff

    frame = Frame.of(tail)
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
