"""All landings of a winding: a row of them inside it and a row outside.

The rows move until they fit the sides that the spirals travel."""

from dataclasses import replace
from itertools import pairwise

from coilgen.errors import DesignError, Fault
from coilgen.geometry.line import Line
from coilgen.layout.landings.choice import chosen
from coilgen.layout.landings.landing import Landing, LayerChanges
from coilgen.layout.landings.row import ROUNDING, Keepout, Row, pads
from coilgen.layout.lengths import Lengths


def arranged(lengths: Lengths) -> LayerChanges | None:
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
        if actual >= last - ROUNDING:
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
    row = Row(
        lengths=lengths,
        level=lengths.outer_row,
        spiral=lengths.first,
        half=lengths.outer_half + lengths.slack,
        drill=via.drill,
        count=via.count,
    )
    layers = range(2, lengths.spirals, 2)
    keepouts = [_lane(lengths, entry), _lane(lengths, way_out)]
    found = chosen(row, {k: k * lengths.turns for k in layers}, keepouts, None)
    if found is None or lengths.spirals % 2:
        return found
    return found | _last_landing(lengths, way_out, keepouts + pads(row, found.values()))


def _last_landing(lengths: Lengths, way_out: Landing, keepouts: list[Keepout]) -> dict[int, Landing]:
    """Where the last, outward layer ends: at the way out, or where its fraction of a turn leads."""
    layers, sides = lengths.spirals, lengths.outline.count
    turns = layers * lengths.turns
    if abs(turns - round(turns)) < ROUNDING * layers:
        return {layers: replace(way_out, side=way_out.side + round(turns) * sides)}
    row = Row(
        lengths=lengths,
        level=lengths.outer_row,
        spiral=lengths.first,
        half=lengths.width / 2 + lengths.slack,
        drill=0.0,
        onward=lengths.outer_row,
    )
    found = chosen(row, {layers: turns}, keepouts, None)
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
    pocket = None if lengths.pocket is None else Keepout(lengths.pocket.segments, 0.0)
    row = Row(
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
    found = chosen(row, {k: k * lengths.turns for k in changing}, [], pocket)
    if found is None or not lengths.ends_inside:
        return found
    pad = Row(
        lengths=lengths,
        level=lengths.inner_row(last, lengths.terminal_half + lengths.terminal_gap - lengths.gap),
        spiral=last,
        half=lengths.terminal_half + lengths.terminal_gap - lengths.gap + lengths.slack,
        drill=terminals.drill if terminals.kind == "plated-hole" else 0.0,
        before_fall=before,
        after_fall=after,
    )
    placed = chosen(
        pad, {lengths.spirals: lengths.spirals * lengths.turns}, pads(row, found.values()), pocket
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


def _lane(lengths: Lengths, landing: Landing) -> Keepout:
    """The lead through a landing, from the winding outwards."""
    at = landing.points[0]
    foot = lengths.outline.side(landing.side).foot(at, lengths.first)
    far = at - 1j * (4 * lengths.via_half + lengths.first)
    return Keepout((Line(foot, at), Line(at, far)), lengths.width / 2 + lengths.slack)
