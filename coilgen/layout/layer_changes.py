"""Where layer changes and lead landings stand: in a row inside the winding and a row outside it.

A layer change passes every layer, so its pads keep their clearance from the windings of all layers, from
the pocket, and from the other changes. Each stands as near as it can to where its layers' spirals end.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise

from coilgen.errors import DesignError, Fault
from coilgen.geometry.closed import holds
from coilgen.geometry.line import Line
from coilgen.geometry.path import Segment
from coilgen.geometry.point import Point
from coilgen.layout.lengths import Measures
from coilgen.layout.shape import Anchor

_ROUNDING = 1e-12


@dataclass(frozen=True)
class Place:
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
class Places:
    """changes[k]: where layer k + 1's spiral begins and layer k's ends; changes[0] is terminal 1's landing.

    exit: terminal 2's landing outside the winding, or None when terminal 2 is a pad inside.
    """

    changes: tuple[Place, ...]
    exit: Place | None

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
    """A row to be filled: its apothem, the pads' half size, how many in a place and how far apart."""

    measures: Measures
    apothem: float
    spiral: float
    half: float
    drill: float
    count: int = 1

    @cached_property
    def span(self) -> float:
        return (self.count - 1) * self.measures.via_step * (1.01 if self.measures.wobble else 1.0)

    @cached_property
    def reach(self) -> float:
        """Largest distance from a side's middle with a foot on the spiral's side and a place on the row's."""
        inward = max(0.0, self.spiral - self.apothem)
        return self.measures.reach(self.spiral, inward)

    def place(self, side: int, along: float) -> Place:
        shape = self.measures.shape
        step = self.span / max(1, self.count - 1)
        return Place(
            side, tuple(shape.place(side, along + k * step, self.apothem) for k in range(self.count))
        )

    @cached_property
    def step(self) -> float:
        """Least distance between the nearest pads of two places: by copper and by holes."""
        holes = self.drill + self.measures.hole_gap if self.drill else 0.0
        return max(2 * self.half + self.measures.gap, holes * (1.01 if self.measures.wobble else 1.0))

    def clear(self, place: Place, keepouts: list[_Keepout], pocket: _Keepout | None) -> bool:
        return all(
            all(self._clears(point, keepout) for keepout in keepouts)
            and (pocket is None or self._clears_pocket(point, pocket))
            for point in place.points
        )

    def _clears(self, point: Point, keepout: _Keepout) -> bool:
        need = keepout.edge + self.half + self.measures.gap
        if keepout.drill and self.drill:
            holes = (keepout.drill + self.drill) / 2 + self.measures.hole_gap
            need = max(need, holes)
        return keepout.distance(point) >= need - _ROUNDING

    def _clears_pocket(self, point: Point, pocket: _Keepout) -> bool:
        rules, outline = self.measures.design.rules, self.measures.pocket
        need = max(
            self.half + rules.limit("copper_to_pocket"), self.drill / 2 + rules.limit("hole_to_pocket")
        )
        outside = outline is not None and not holds(outline, point)
        return outside and pocket.distance(point) >= need - _ROUNDING


def places(measures: Measures) -> Places:
    """All places of a winding; DesignError when the opening inside the winding has no room for them."""
    found = _arranged(measures, 0.0)
    if found is None:
        raise DesignError([_no_room(measures)])
    return found


def _no_room(measures: Measures) -> Fault:
    winding, pocket = measures.design.winding, measures.design.pocket
    missing = _missing(measures)
    contents = (
        "the pads inside it"
        if pocket is None
        else f"the {pocket.size * 1e3:.6g} mm pocket and the pads beside it"
    )
    enough = (
        ""
        if missing is None
        else f" {(winding.inner_size + missing) * 1e3:.3f} mm: {missing * 1e3:.3f} mm is missing"
    )
    return Fault(
        key="winding.inner_size",
        says=f"the winding leaves {winding.inner_size * 1e3:.6g} mm, {contents} need"
        f"{enough or ' more'}; take fewer turns, a finer trace, smaller vias or pocket, or more outer_size",
    )


def _missing(measures: Measures) -> float | None:
    """How much more inner size would do, m, to the micrometre above; None when none is found."""
    pocket = measures.design.pocket
    largest = 4 * measures.design.winding.outer_size + (0.0 if pocket is None else pocket.size)
    if _arranged(measures, largest) is None:
        return None
    low, high = 0.0, largest
    while high - low > 1e-6:
        middle = (low + high) / 2
        low, high = (low, middle) if _arranged(measures, middle) else (middle, high)
    return high


def _arranged(measures: Measures, widened: float) -> Places | None:
    """Places with the winding widened by so much.

    The rows move until they fit the sides actually travelled.
    """
    winding = measures.design.winding
    wider = winding.model_copy(update={"outer_size": winding.outer_size + widened})
    measures = replace(measures, design=measures.design.model_copy(update={"winding": wider}))
    sides = [measures.base_side(k) for k in range(measures.spirals + 1)]
    last = min(measures.last(after - before) for before, after in pairwise(sides))
    for _ in range(8):
        found = _filled(measures, last)
        if found is None:
            return None
        actual = min(measures.last(steps) for steps in found.steps)
        if actual >= last - _ROUNDING:
            return found
        last = actual
    return None


def _filled(measures: Measures, last: float) -> Places | None:
    entry, way_out = _landing(measures, -1), _landing(measures, 1)
    outer = _outer_places(measures, entry, way_out)
    inner = _inner_places(measures, last)
    if outer is None or inner is None:
        return None
    changes = (entry, *(({**outer, **inner})[k] for k in range(1, measures.spirals + 1)))
    return Places(changes=changes, exit=None if measures.ends_inside else way_out)


def _outer_places(measures: Measures, entry: Place, way_out: Place) -> dict[int, Place] | None:
    via = measures.design.via
    row = _Row(
        measures=measures,
        apothem=measures.outer_row,
        spiral=measures.first,
        half=measures.outer_half + measures.slack,
        drill=via.drill,
        count=via.count,
    )
    layers = range(2, measures.spirals, 2)
    keepouts = [_lane(measures, entry), _lane(measures, way_out)]
    found = _chosen(row, {k: k * measures.turns for k in layers}, keepouts, None)
    if found is None or measures.spirals % 2:
        return found
    return found | _last_landing(measures, way_out, keepouts + _pads(row, found.values()))


def _last_landing(measures: Measures, way_out: Place, keepouts: list[_Keepout]) -> dict[int, Place]:
    """Where the last, outward layer ends: at the way out, or where its fraction of a turn leads."""
    layers, sides = measures.spirals, measures.shape.sides
    turns = layers * measures.turns
    if abs(turns - round(turns)) < _ROUNDING * layers:
        return {layers: replace(way_out, side=way_out.side + round(turns) * sides)}
    row = _Row(
        measures=measures,
        apothem=measures.outer_row,
        spiral=measures.first,
        half=measures.width / 2 + measures.slack,
        drill=0.0,
    )
    found = _chosen(row, {layers: turns}, keepouts, None)
    if found is None:
        raise DesignError(
            [Fault(key="winding.outer_size", says="too small for the leads around the winding; enlarge it")]
        )
    return found


def _inner_places(measures: Measures, last: float) -> dict[int, Place] | None:
    via, terminals = measures.design.via, measures.design.terminals
    pocket = None if measures.pocket is None else _Keepout(measures.pocket.segments, 0.0)
    row = _Row(
        measures=measures,
        apothem=measures.inner_row(last, measures.via_half),
        spiral=last,
        half=measures.via_half + measures.slack,
        drill=via.drill,
        count=via.count,
    )
    inward = list(range(1, measures.spirals + 1, 2))
    changing = inward[:-1] if measures.ends_inside else inward
    found = _chosen(row, {k: k * measures.turns for k in changing}, [], pocket)
    if found is None or not measures.ends_inside:
        return found
    pad = _Row(
        measures=measures,
        apothem=measures.inner_row(last, measures.terminal_half + measures.terminal_gap - measures.gap),
        spiral=last,
        half=measures.terminal_half + measures.terminal_gap - measures.gap + measures.slack,
        drill=terminals.drill if terminals.kind == "plated-hole" else 0.0,
    )
    placed = _chosen(
        pad, {measures.spirals: measures.spirals * measures.turns}, _pads(row, found.values()), pocket
    )
    return None if placed is None else found | placed


def _landing(measures: Measures, hand: int) -> Place:
    """Where a lead leaves the outer row towards its terminal.

    Below it, or as near as the south side reaches.
    """
    shape, row = measures.shape, measures.outer_row
    reach = measures.reach(measures.first, 0.0)
    wanted = measures.design.terminals.pitch / 2
    along = wanted
    for _ in range(60):
        along = min(reach, along + wanted - shape.place(0, along, row).real)
    return Place(0, (shape.place(0, hand * along, row),))


def _lane(measures: Measures, landing: Place) -> _Keepout:
    """The lead through a landing, from the winding outwards."""
    at = landing.points[0]
    inner = at * (1 - measures.via_half / abs(at))
    far = at - 1j * (4 * measures.via_half + measures.first)
    return _Keepout((Line(inner, at), Line(at, far)), measures.width / 2 + measures.slack)


def _pads(row: _Row, filled: Iterable[Place]) -> list[_Keepout]:
    return [_Keepout(point, row.half, row.drill) for place in filled for point in place.points]


def _chosen(
    row: _Row, wanted: dict[int, float], keepouts: list[_Keepout], pocket: _Keepout | None
) -> dict[int, Place] | None:
    """A place for each layer that ends in this row, as near as may be to its wanted angle (turns)."""
    found: dict[int, Place] = {}
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
) -> dict[int, Place] | None:
    """Spread evenly about the wanted angle where that is clear, else each in the nearest clear place."""
    if row.apothem <= 0 or row.span / 2 > row.reach:
        return None
    first = next(iter(group.values()))
    chosen = _spread(row, len(group), first)
    if not chosen or not all(row.clear(place, keepouts, pocket) for place in chosen):
        chosen = _nearest_clear(row, len(group), first, keepouts, pocket)
    if len(chosen) < len(group):
        return None
    return {
        layer: replace(place, side=place.side + round((turns - first) * row.measures.shape.sides))
        for (layer, turns), place in zip(group.items(), chosen, strict=True)
    }


def _spread(row: _Row, count: int, turns: float) -> list[Place]:
    """Places side by side about the middle of the wanted side; none when the wanted angle is not a middle."""
    side = round(turns * row.measures.shape.sides)
    if abs(turns * row.measures.shape.sides - side) > _ROUNDING * max(1, side):
        return []
    step = row.span + row.step
    centres = [(k - (count - 1) / 2) * step for k in range(count)]
    if centres[-1] + row.span / 2 > row.reach:
        return []
    return [row.place(side, centre - row.span / 2) for centre in centres]


def _nearest_clear(
    row: _Row, count: int, turns: float, keepouts: list[_Keepout], pocket: _Keepout | None
) -> list[Place]:
    taken: list[tuple[float, Place]] = []
    for angle, place in _candidates(row, turns):
        if row.clear(place, keepouts + _pads(row, [each for _, each in taken]), pocket):
            taken.append((angle, place))
            if len(taken) == count:
                break
    return [each for _, each in sorted(taken, key=lambda item: item[0])]


def _candidates(row: _Row, turns: float) -> Iterator[tuple[float, Place]]:
    """Places within half a turn of a wanted angle, nearest first, an eighth of a pad apart."""
    shape = row.measures.shape
    nearest = round(turns * shape.sides)
    room = row.reach - row.span / 2
    count = int(4 * room / row.half)
    middles = [-room, *(k * row.half / 4 for k in range(-count, count + 1)), room]
    found = []
    for side in range(nearest - shape.sides // 2, nearest + shape.sides // 2 + 1):
        for middle in middles:
            angle = shape.turns(side, middle, row.apothem)
            found.append((abs(angle - turns), angle, side, middle - row.span / 2))
    for off, angle, side, along in sorted(found):
        if off <= 0.5:
            yield angle, row.place(side, along)
