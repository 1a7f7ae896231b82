"""Room for the joints of an array: what has none is told with the layers, width or size that would do."""

import cmath
import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from itertools import pairwise

from coilgen.design.keys import pair
from coilgen.design.stackup import with_layers
from coilgen.errors import DesignError, Fault
from coilgen.geometry.extent import extent
from coilgen.geometry.isometry import Isometry
from coilgen.geometry.point import direction
from coilgen.layout.joint_parts import Pin
from coilgen.layout.joint_ways import Ways
from coilgen.layout.lengths import Lengths
from coilgen.layout.shape import shape_named
from coilgen.units import in_mm, size_in_mm

_TOLD = 1e-5
"""m, to which a width or a size that would do is told."""
_NOTHING = 1e-9


def refuse_without_room_for_joints(ways: Ways) -> None:
    """Raises DesignError where coils end inside, or where pins, rows or the ring leave joints no room."""
    for faults in (_ending_inside, _between_pins, _within_ring, _between_rows):
        found = list(faults(ways))
        if found:
            raise DesignError(found)


def _ending_inside(ways: Ways) -> Iterator[Fault]:
    """Coils of which one end has no layer to leave on."""
    own, array = ways.design.windings[0].design, ways.design.array
    assert array is not None
    if not Lengths(own, shape_named(own.winding.shape)).ends_inside:
        return
    winding, stackup = own.winding, own.board.stackup
    named = with_layers(winding.layers + 1, flexible=stackup.flexible)
    others = [f"a stack-up of {winding.layers + 1} or more copper layers"]
    others += [f"as {', '.join(named)}"] if named else []
    if winding.connection == "parallel" and winding.layers % 2 == 0:
        others.append('or winding.connection = "series"')
    elif winding.layers > 1:
        others.append(f'or winding.layers = {winding.layers - 1 if winding.layers % 2 else 2}, in "series"')
    says = (
        f'"{array.coils}" needs both ends of each coil outside of it; {winding.layers} wound of '
        f"{stackup.layers} copper layers leave none to lead the inner end out: use {', '.join(others)}"
    )
    yield Fault(key="array.coils", says=says)


def _between_pins(ways: Ways) -> Iterator[Fault]:
    """Joints too wide for the distance between pins that they lead to."""
    apart = _least_apart(ways)
    if apart >= 2 * ways.half + ways.gap - _NOTHING:
        return
    widest = _down(apart - ways.gap)
    pitch = _up(_pitch(ways) + 2 * ways.half + ways.gap - apart)
    says = f"leave {in_mm(apart)} between pins, and tracks of {in_mm(ways.width)} on vias of "
    says += f"{in_mm(ways.design.via.pad)} need {in_mm(2 * ways.half + ways.gap)}"
    if widest >= ways.design.via.pad:
        yield Fault(key="array.joint_width", says=f"coils {says}: use {in_mm(widest)} or less")
    else:
        yield Fault(key="terminals.pitch", says=f"coils {says}: use {in_mm(pitch)} or more, or smaller vias")


def _pitch(ways: Ways) -> float:
    one, other = (terminal.at for terminal in ways.coils[0].terminals)
    return abs(one - other)


def _least_apart(ways: Ways) -> float:
    """Between neighbouring pins of different nodes, m."""
    node_of = {pin: number for number, node in enumerate(ways.nodes) for pin in node.pins}
    found = math.inf
    for row, line in enumerate(ways.channels):
        pins = sorted(
            (pin for pin in ways.along if ways.channel_of(pin) == row), key=lambda pin: ways.along[pin]
        )
        pairs: list[tuple[Pin, Pin]] = list(pairwise(pins))
        pairs += [(pins[-1], pins[0])] if line.ring else []
        apart = (
            abs(line.at(ways.along[one], 0.0) - line.at(ways.along[other], 0.0))
            for one, other in pairs
            if node_of[one] != node_of[other]
        )
        found = min([found, *apart])
    return found


def _within_ring(ways: Ways) -> Iterator[Fault]:
    """Tracks and terminals that the ring of pins has no room for on its inner side."""
    line = ways.channels[0]
    if not line.ring or line.outward > 0 or _fits_within(ways):
        return
    array = ways.design.array
    assert array is not None and array.radius is not None
    finest = ways.design.rules.limit("trace_width")
    radius = _least(lambda larger: _fits_within(_larger(ways, larger)), 100 * line.pins)
    width = _most(lambda width: _fits_within(replace(ways, asked_width=width)), finest, ways.width)
    others = [] if width is None else [f"array.joint_width of {in_mm(width)} or less"]
    others += [f"array.radius of {in_mm(_up(array.radius + radius))} or more", 'joints = "outside"']
    deepest = ways.terminal_out + ways.design.terminals.pad / 2
    says = (
        f"joints and terminals take {in_mm(deepest)} within the ring of pins, which has a radius of "
        f"{in_mm(line.pins)}, and crowd there: use {', '.join(others[:-1])}, or {others[-1]}"
    )
    yield Fault(key="array.joints", says=says)


def _larger(ways: Ways, by: float) -> Ways:
    """The same joints at pins of a ring that is larger, m."""
    outward = [Isometry(shift=by * direction(cmath.phase(each.centre))) for each in ways.design.windings]
    pins = [
        replace(coil, traces=(), vias=(), terminals=tuple(end.moved(shift) for end in coil.terminals))
        for coil, shift in zip(ways.coils, outward, strict=True)
    ]
    return replace(ways, coils=pins)


def _fits_within(ways: Ways) -> bool:
    """Whether joints keep apart inside a ring of pins."""
    line, terminals, rules = ways.channels[0], ways.design.terminals, ways.design.rules
    innermost, deepest = line.pins - ways.terminal_out, line.pins - ways.rows(0) * ways.step
    if innermost < terminals.pad / 2 + ways.gap:
        return False
    holes = rules.limit("hole_to_hole") + terminals.drill - terminals.pad
    clear = max(ways.gap, rules.limit("mask_opening"), holes)
    return (
        _chord(ways.terminal_places.values(), innermost) >= terminals.pad + clear
        and _chord(ways.along.values(), deepest) >= 2 * ways.half + ways.gap
    )


def _chord(angles: Iterable[float], radius: float) -> float:
    """The least distance between places of a circle, m."""
    there = sorted(angles)
    if len(there) < 2:
        return math.inf
    apart = min(after - before for before, after in pairwise([*there, there[0] + math.tau]))
    return 2 * radius * math.sin(min(apart, math.pi) / 2)


def _between_rows(ways: Ways) -> Iterator[Fault]:
    """Rows of a grid whose joints have no room before the next row's copper."""
    array = ways.design.array
    assert array is not None
    missing = max((_missing(ways, row) for row in range(len(ways.channels) - 1)), default=0.0)
    if missing <= _NOTHING:
        return
    assert array.pitch is not None
    across, down = pair(array.pitch)
    told = f"[{across * 1e3:.6g}, {_up(down + missing) * 1e3:.6g}] mm"
    finest = ways.design.rules.limit("trace_width")
    width = _most(lambda width: _all_fit(replace(ways, asked_width=width)), finest, ways.width)
    others = "" if width is None else f", or array.joint_width of {in_mm(width)} or less"
    deepest = max(range(len(ways.channels) - 1), key=lambda row: _missing(ways, row))
    says = (
        f"{size_in_mm(array.pitch)} leaves {in_mm(_free(ways, deepest))} beyond the pins for "
        f"{ways.rows(deepest)} tracks of joints, which need {in_mm(ways.depth(deepest))}: use {told} or "
        f"more{others}"
    )
    yield Fault(key="array.pitch", says=says)


def _all_fit(ways: Ways) -> bool:
    return all(_missing(ways, row) <= 0 for row in range(len(ways.channels) - 1))


def _missing(ways: Ways, row: int) -> float:
    return ways.depth(row) - _free(ways, row)


def _free(ways: Ways, row: int) -> float:
    """From a row's pins to the copper of the next row's coils, m; negative where it lies over them."""
    line = ways.channels[row]
    following = {pin.coil for pin in ways.along if ways.channel_of(pin) == row + 1}
    traces = (
        line.out(corner) - trace.width / 2
        for k in following
        for trace in ways.coils[k].traces
        for corner in extent(trace.path)
    )
    vias = (line.out(via.at) - via.pad / 2 for k in following for via in ways.coils[k].vias)
    return min(*traces, *vias)


def _least(fits: Callable[[float], bool], most: float) -> float:
    """The least length, m, that fits."""
    low, high = 0.0, most
    while high - low > _TOLD / 4:
        middle = (low + high) / 2
        low, high = (low, middle) if fits(middle) else (middle, high)
    return high


def _most(fits: Callable[[float], bool], finest: float, most: float) -> float | None:
    """The largest width that fits, m; None where not even the shop's finest does."""
    finest = math.ceil(finest / _TOLD - 1e-6) * _TOLD
    if finest >= most or not fits(finest):
        return None
    low, high = finest, most
    while high - low > _TOLD / 4:
        middle = (low + high) / 2
        low, high = (middle, high) if fits(middle) else (low, middle)
    return max(_down(low), finest)


def _up(length: float) -> float:
    return math.ceil(length / _TOLD - 1e-6) * _TOLD


def _down(length: float) -> float:
    return math.floor(length / _TOLD + 1e-6) * _TOLD
