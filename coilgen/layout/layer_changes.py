"""Where layer changes and lead landings stand: in a row inside the winding and a row outside it.

A layer change passes every layer, so its pads keep their clearance from the windings of all layers, from
the pocket, and from the other changes. Each stands as near as it can to where its layers' spirals end.
"""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise

from coilgen.design.keys import Size
from coilgen.errors import DesignError, Fault
from coilgen.geometry.closed import holds
from coilgen.geometry.line import Line
from coilgen.geometry.path import Segment
from coilgen.geometry.point import Point
from coilgen.layout.lengths import ON_ARC, Lengths
from coilgen.layout.outline import Anchor
from coilgen.layout.sides import Bend
from coilgen.units import in_mm, size_in_mm

_ROUNDING = 1e-12


@dataclass(frozen=True)
class Landing:
    """A row of pads along one side (parallel vias, or the single landing of a lead), counter-clockwise."""

    side: int
    points: tuple[Point, ...]

    @property
    def first(self) -> Anchor:
        """Where the current arrives."""
        return Anchor(self.side, self.points[0])

    @property
    def last(self) -> Anchor:
        """Where the current leaves."""
        return Anchor(self.side, self.points[-1])


@dataclass(frozen=True, kw_only=True)
class LayerChanges:
    """changes[k]: where layer k + 1's spiral begins and layer k's ends; changes[0] is terminal 1's landing.

    exit: terminal 2's landing outside the winding, or None when terminal 2 is a pad inside.
    """

    changes: tuple[Landing, ...]
    exit: Landing | None

    def feet(self, layer: int) -> tuple[Anchor, Anchor]:
        """Where an inward spiral starts and ends whose mirror image, reversed, an outward layer is."""
        start, end = self.changes[layer - 1].last, self.changes[layer].first
        return (start, end) if layer % 2 else (end.mirrored(), start.mirrored())

    @property
    def steps(self) -> tuple[int, ...]:
        """Sides that each layer's spiral travels."""
        return tuple(after.side - before.side for before, after in pairwise(self.changes))


@dataclass(frozen=True)
class _Keepout:
    """Copper or a cut-out to stay away from.

    `edge` m of it on the far side of its line or point, plus a gap.
    """

    body: tuple[Segment, ...] | Point
    edge: float
    drill: float | None = None

    def distance(self, point: Point) -> float:
        if isinstance(self.body, complex):
            return abs(point - self.body)
        return min(segment.distance(point) for segment in self.body)


@dataclass(frozen=True, kw_only=True)
class _Row:
    """A row to be filled: its level and the spiral's, the pads' half size, how many in a place.

    onward: level at which a lead goes on from its places round the winding; None where none does.
    before_fall, after_fall: sides of a turn on which spirals that run inward end, or outward begin, next to
    where the turn before has fallen by a pitch already.
    """

    lengths: Lengths
    level: float
    spiral: float
    half: float
    drill: float
    count: int = 1
    onward: float | None = None
    before_fall: frozenset[int] = frozenset()
    after_fall: frozenset[int] = frozenset()

    def span(self, side: int) -> float:
        """Of a place's parallel pads, from centre to centre along the row."""
        if self.count == 1:
            return 0.0
        side_of_row, chord = self.lengths.outline.side(side), self.lengths.via_step
        least = 1 + ON_ARC if isinstance(side_of_row, Bend) else 1.0
        return (self.count - 1) * chord * max(least, side_of_row.stretch(chord, self.level))

    def room(self, side: int) -> tuple[float, float]:
        """Least and largest distance along a side of the middle of a place: with its feet on the spiral's
        side, and itself on the row's. The first is more where there is none."""
        count = self.lengths.outline.count
        return self._rooms[side % count]

    @cached_property
    def _rooms(self) -> tuple[tuple[float, float], ...]:
        reaches = [self._reach(side) for side in range(self.lengths.outline.count)]
        spans = [self.span(side) for side in range(self.lengths.outline.count)]
        return tuple(
            (low + span / 2, high - span / 2) for (low, high), span in zip(reaches, spans, strict=True)
        )

    def _reach(self, side: int) -> tuple[float, float]:
        """Where pads may stand along a side; a lead that goes on keeps its spacing from itself at corners."""
        m, outline = self.lengths, self.lengths.outline
        low, high = m.reach(side, self.spiral, self.level)
        begin, end = outline.apart(side, self.spiral, m.corner)
        low = max(low, begin) if side in self.after_fall else low
        high = min(high, end) if side in self.before_fall else high
        if self.onward is None or outline.tangent:
            return low, high
        across = max(abs(self.onward - self.spiral), abs(self.onward - self.level))
        begin, end = outline.beside_lead(side, self.onward, across, m.width, m.gap)
        return max(low, begin), min(high, end)

    def place(self, side: int, along: float) -> Landing:
        outline = self.lengths.outline
        step = self.span(side) / max(1, self.count - 1)
        return Landing(
            side, tuple(outline.place(side, along + k * step, self.level) for k in range(self.count))
        )

    @cached_property
    def step(self) -> float:
        """Least distance between the nearest pads of two places: by copper and by holes."""
        holes = self.drill + self.lengths.hole_gap if self.drill else 0.0
        curved = self.lengths.outline.curved
        return max(2 * self.half + self.lengths.gap, holes * (1 + ON_ARC if curved else 1.0))

    def clear(self, place: Landing, keepouts: list[_Keepout], pocket: _Keepout | None) -> bool:
        return all(
            all(self._clears(point, keepout) for keepout in keepouts)
            and (pocket is None or self._clears_pocket(point, pocket))
            for point in place.points
        )

    def _clears(self, point: Point, keepout: _Keepout) -> bool:
        need = keepout.edge + self.half + self.lengths.gap
        if keepout.drill and self.drill:
            holes = (keepout.drill + self.drill) / 2 + self.lengths.hole_gap
            need = max(need, holes)
        return keepout.distance(point) >= need - _ROUNDING

    def _clears_pocket(self, point: Point, pocket: _Keepout) -> bool:
        rules, outline = self.lengths.design.rules, self.lengths.pocket
        need = max(
            self.half + rules.limit("copper_to_pocket"), self.drill / 2 + rules.limit("hole_to_pocket")
        )
        outside = outline is not None and not holds(outline, point)
        return outside and pocket.distance(point) >= need - _ROUNDING


def layer_changes(lengths: Lengths) -> LayerChanges:
    """All places of a winding; DesignError when the opening inside the winding has no room for them."""
    found = _arranged(lengths)
    if found is None:
        raise DesignError([_large_corners(lengths) or _no_room(lengths)])
    return found


def fits(lengths: Lengths) -> bool:
    """Whether the opening inside the winding, and the row outside, have room for all places."""
    try:
        return _arranged(lengths) is not None
    except DesignError:
        return False


def _large_corners(lengths: Lengths) -> Fault | None:
    """What is wrong where smaller corners would do; None where corners are not the cause."""
    largest = _largest_corner(lengths)
    if largest is None:
        return None
    winding = lengths.design.winding
    size = in_mm(winding.corner_size)
    asked = f"{size}, the trace's width," if winding.corner_size == winding.trace_width else size
    return Fault(
        key="winding.corner_size",
        says=f"{asked} takes too much of the innermost turn's sides; "
        f"give at most {in_mm(largest)}, or more inner_size",
    )


def _largest_corner(lengths: Lengths) -> float | None:
    """The largest size of corner that leaves room, m, in whole micrometres; None when not even 1 um does."""

    def fits(micrometres: int) -> bool:
        return _arranged(_with(lengths, corner_size=micrometres * 1e-6)) is not None

    if lengths.corner.kind == "sharp" or not fits(1):
        return None
    fitting, failing = 1, math.ceil(lengths.corner.size * 1e6)
    while failing - fitting > 1:
        middle = (fitting + failing) // 2
        fitting, failing = (middle, failing) if fits(middle) else (fitting, middle)
    return fitting * 1e-6


def _no_room(lengths: Lengths) -> Fault:
    return _narrow(lengths) or _small(lengths)


_WIDEST = math.radians(170.0)


def _narrow(lengths: Lengths) -> Fault | None:
    """What is wrong where a larger angle of a sector would do, and the least that does, in hundredths of 1
    degree; None where the angle is not the cause."""
    winding = lengths.design.winding
    if winding.angle is None or _arranged(_with(lengths, angle=_WIDEST)) is None:
        return None
    failing, fitting = winding.angle, _WIDEST
    while fitting - failing > math.radians(0.001):
        middle = (failing + fitting) / 2
        failing, fitting = (failing, middle) if _arranged(_with(lengths, angle=middle)) else (middle, fitting)
    least = math.ceil(math.degrees(fitting) * 100) / 100
    return Fault(
        key="winding.angle",
        says=f"{math.degrees(winding.angle):.6g} degrees leave no room inside the winding for what stands "
        f"there; give {least:.6g} or more, or larger radii, fewer turns, a finer trace or smaller vias",
    )


def _small(lengths: Lengths) -> Fault:
    winding, pocket = lengths.design.winding, lengths.design.pocket
    missing = _missing(lengths)
    contents = "the pads inside it" if pocket is None else f"the {pocket.told} pocket and the pads beside it"
    enough = (
        "" if missing is None else f" {_more(winding.inner_size, missing)}: {missing * 1e3:.3f} mm is missing"
    )
    return Fault(
        key="winding.inner_size",
        says=f"the winding leaves {size_in_mm(winding.inner_size)}, {contents} need"
        f"{enough or ' more'}; take fewer turns, a finer trace, smaller vias or pocket, or more outer_size",
    )


def _more(size: Size, by: float) -> str:
    """A size of one number or two, each larger by a length, as text."""
    each = (size,) if isinstance(size, float) else size
    return " x ".join(f"{(one + by) * 1e3:.3f}" for one in each) + " mm"


def _missing(lengths: Lengths) -> float | None:
    """How much more inner size would do, m, to the micrometre above; None when none is found."""
    pocket = lengths.design.pocket
    largest = 4 * lengths.design.winding.span + (0.0 if pocket is None else max(pocket.sizes))
    if _arranged(_widened(lengths, largest)) is None:
        return None
    low, high = 0.0, largest
    while high - low > 1e-6:
        middle = (low + high) / 2
        low, high = (low, middle) if _arranged(_widened(lengths, middle)) else (middle, high)
    return high


def _widened(lengths: Lengths, by: float) -> Lengths:
    return _with(lengths, **lengths.design.winding.widened(by))


def _with(lengths: Lengths, **sizes: object) -> Lengths:
    """The same with other sizes of the winding."""
    winding = lengths.design.winding.unchecked(**sizes)
    return replace(lengths, design=lengths.design.unchecked(winding=winding))


def _arranged(lengths: Lengths) -> LayerChanges | None:
    """The places; the rows move until they fit the sides actually travelled. None when there is no room."""
    if not lengths.outline.exists(lengths.outer_row) or not lengths.outline.exists(lengths.first):
        return None
    if not lengths.pocket_lies_inside:
        return None
    sides = [lengths.base_side(k) for k in range(lengths.spirals + 1)]
    last = min(lengths.last(after - before) for before, after in pairwise(sides))
    for _ in range(8):
        found = _filled(lengths, last)
        if found is None:
            return None
        actual = min(lengths.last(steps) for steps in found.steps)
        if actual >= last - _ROUNDING:
            return found if _corners_fit(lengths, found) else None
        last = actual
    return None


def _corners_fit(lengths: Lengths, found: LayerChanges) -> bool:
    """Whether every side of every spiral is longer than its corners take."""
    return all(
        lengths.outline.fits(*found.feet(layer), lengths.corner) for layer in range(1, lengths.spirals + 1)
    )


def _filled(lengths: Lengths, last: float) -> LayerChanges | None:
    entry, way_out = _landing(lengths, -1), _landing(lengths, 1)
    outer = _outer_places(lengths, entry, way_out)
    if outer is None:
        return None
    inner = _inner_places(lengths, last, {0: entry, **outer})
    if inner is None:
        return None
    changes = (entry, *(({**outer, **inner})[k] for k in range(1, lengths.spirals + 1)))
    return LayerChanges(changes=changes, exit=None if lengths.ends_inside else way_out)


def _outer_places(lengths: Lengths, entry: Landing, way_out: Landing) -> dict[int, Landing] | None:
    via = lengths.design.via
    row = _Row(
        lengths=lengths,
        level=lengths.outer_row,
        spiral=lengths.first,
        half=lengths.outer_half + lengths.slack,
        drill=via.drill,
        count=via.count,
    )
    layers = range(2, lengths.spirals, 2)
    keepouts = [_lane(lengths, entry), _lane(lengths, way_out)]
    found = _chosen(row, {k: k * lengths.turns for k in layers}, keepouts, None)
    if found is None or lengths.spirals % 2:
        return found
    return found | _last_landing(lengths, way_out, keepouts + _pads(row, found.values()))


def _last_landing(lengths: Lengths, way_out: Landing, keepouts: list[_Keepout]) -> dict[int, Landing]:
    """Where the last, outward layer ends: at the way out, or where its fraction of a turn leads."""
    layers, sides = lengths.spirals, lengths.outline.count
    turns = layers * lengths.turns
    if abs(turns - round(turns)) < _ROUNDING * layers:
        return {layers: replace(way_out, side=way_out.side + round(turns) * sides)}
    row = _Row(
        lengths=lengths,
        level=lengths.outer_row,
        spiral=lengths.first,
        half=lengths.width / 2 + lengths.slack,
        drill=0.0,
        onward=lengths.outer_row,
    )
    found = _chosen(row, {layers: turns}, keepouts, None)
    if found is None:
        raise DesignError(
            [Fault(key="winding.outer_size", says="too small for the leads around the winding; enlarge it")]
        )
    return found


def _inner_places(lengths: Lengths, last: float, outer: dict[int, Landing]) -> dict[int, Landing] | None:
    count = lengths.outline.count
    before = frozenset((place.side - 1) % count for k, place in outer.items() if k < lengths.spirals)
    after = frozenset((place.side + 1) % count for k, place in outer.items() if k > 0)
    via, terminals = lengths.design.via, lengths.design.terminals
    pocket = None if lengths.pocket is None else _Keepout(lengths.pocket.segments, 0.0)
    row = _Row(
        lengths=lengths,
        level=lengths.inner_row(last, lengths.via_half),
        spiral=last,
        half=lengths.via_half + lengths.slack,
        drill=via.drill,
        count=via.count,
        onward=None if lengths.bridge is None else last,
        before_fall=before,
        after_fall=after,
    )
    inward = list(range(1, lengths.spirals + 1, 2))
    changing = inward[:-1] if lengths.ends_inside else inward
    found = _chosen(row, {k: k * lengths.turns for k in changing}, [], pocket)
    if found is None or not lengths.ends_inside:
        return found
    pad = _Row(
        lengths=lengths,
        level=lengths.inner_row(last, lengths.terminal_half + lengths.terminal_gap - lengths.gap),
        spiral=last,
        half=lengths.terminal_half + lengths.terminal_gap - lengths.gap + lengths.slack,
        drill=terminals.drill if terminals.kind == "plated-hole" else 0.0,
        before_fall=before,
        after_fall=after,
    )
    placed = _chosen(
        pad, {lengths.spirals: lengths.spirals * lengths.turns}, _pads(row, found.values()), pocket
    )
    return None if placed is None else found | placed


def _landing(lengths: Lengths, hand: int) -> Landing:
    """Where a lead leaves the outer row towards its terminal.

    Below it, or as near as the south side reaches.
    """
    outline, row = lengths.outline, lengths.outer_row
    _, reach = lengths.reach(0, lengths.first, lengths.first)
    wanted = lengths.design.terminals.pitch / 2
    along = wanted
    for _ in range(60):
        along = min(reach, along + wanted - outline.place(0, along, row).real)
    return Landing(0, (outline.place(0, hand * along, row),))


def _lane(lengths: Lengths, landing: Landing) -> _Keepout:
    """The lead through a landing, from the winding outwards."""
    at = landing.points[0]
    inner = at * (1 - lengths.via_half / abs(at))
    far = at - 1j * (4 * lengths.via_half + lengths.first)
    return _Keepout((Line(inner, at), Line(at, far)), lengths.width / 2 + lengths.slack)


def _pads(row: _Row, filled: Iterable[Landing]) -> list[_Keepout]:
    return [_Keepout(point, row.half, row.drill) for place in filled for point in place.points]


def _chosen(
    row: _Row, wanted: dict[int, float], keepouts: list[_Keepout], pocket: _Keepout | None
) -> dict[int, Landing] | None:
    """A place for each layer that ends in this row, as near as may be to its wanted angle (turns)."""
    found: dict[int, Landing] = {}
    for group in _groups(wanted):
        chosen = _side_by_side(row, group, keepouts + _pads(row, found.values()), pocket)
        if chosen is None:
            return None
        found |= chosen
    return found


def _groups(wanted: dict[int, float]) -> list[dict[int, float]]:
    """Layers that end at the same angle of the circle, together."""
    groups: dict[float, dict[int, float]] = {}
    for layer, turns in wanted.items():
        groups.setdefault(round(turns % 1.0, 6) % 1.0, {})[layer] = turns
    return list(groups.values())


def _side_by_side(
    row: _Row, group: dict[int, float], keepouts: list[_Keepout], pocket: _Keepout | None
) -> dict[int, Landing] | None:
    """Spread evenly about the wanted angle where that is clear, else each in the nearest clear place."""
    if not row.lengths.outline.exists(row.level):
        return None
    first = next(iter(group.values()))
    chosen = _spread(row, len(group), first)
    if not chosen or not all(row.clear(place, keepouts, pocket) for place in chosen):
        chosen = _nearest_clear(row, len(group), first, keepouts, pocket)
    if len(chosen) < len(group):
        return None
    return {
        layer: replace(place, side=place.side + round((turns - first) * row.lengths.outline.count))
        for (layer, turns), place in zip(group.items(), chosen, strict=True)
    }


def _spread(row: _Row, count: int, turns: float) -> list[Landing]:
    """Places side by side about the middle of the wanted side; none when the wanted angle is not a middle."""
    sides = row.lengths.outline.count
    side = round(turns * sides)
    if abs(turns * sides - side) > _ROUNDING * max(1, side):
        return []
    span, (low, high) = row.span(side), row.room(side)
    stretch = row.lengths.outline.side(side).stretch(row.step, row.level)
    step = span + row.step * max(1.0, stretch / (1 + ON_ARC))
    centres = [(k - (count - 1) / 2) * step for k in range(count)]
    if not low <= centres[0] <= centres[-1] <= high:
        return []
    return [row.place(side, centre - span / 2) for centre in centres]


def _nearest_clear(
    row: _Row, count: int, turns: float, keepouts: list[_Keepout], pocket: _Keepout | None
) -> list[Landing]:
    taken: list[tuple[float, Landing]] = []
    for angle, place in _candidates(row, turns):
        if row.clear(place, keepouts + _pads(row, [each for _, each in taken]), pocket):
            taken.append((angle, place))
            if len(taken) == count:
                break
    return [each for _, each in sorted(taken, key=lambda item: item[0])]


def _candidates(row: _Row, turns: float) -> Iterator[tuple[float, Landing]]:
    """Places within half a turn of a wanted angle, nearest first, an eighth of a pad apart."""
    outline, found = row.lengths.outline, []
    nearest = round(turns * outline.count)
    for side in range(nearest - outline.count // 2, nearest + outline.count // 2 + 1):
        span = row.span(side)
        for middle in _middles(row, side):
            angle = outline.turns(side, middle, row.level)
            found.append((abs(angle - turns), angle, side, middle - span / 2))
    for off, angle, side, along in sorted(found):
        if off <= 0.5:
            yield angle, row.place(side, along)


def _middles(row: _Row, side: int) -> list[float]:
    """Distances along a side at which a place may have its middle; none where the side has no room."""
    low, high = row.room(side)
    if not low <= high:
        return []
    step = row.half / 4
    return [low, *(k * step for k in range(math.ceil(low / step), int(high / step) + 1)), high]
