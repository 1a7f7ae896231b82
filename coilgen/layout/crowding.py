"""Coils of an array that lie over one another, with the radius, pitch or angle at which they would not."""

import math
from collections.abc import Callable, Iterator, Sequence

from coilgen.design.arrays import Array
from coilgen.design.design import Design
from coilgen.errors import Fault
from coilgen.geometry.isometry import Isometry
from coilgen.geometry.point import Point, direction
from coilgen.geometry.ring import Ring, apart, overlap
from coilgen.layout.seen import copper_edges
from coilgen.units import in_mm, size_in_mm

_STEP = 1e-5
"""m, to which a radius or a pitch that would do is told, upward."""


def crowded(design: Design, turns: Sequence[Ring]) -> Iterator[Fault]:
    """One where neighbours of an array want the same copper. turns: of all coils where they lie."""
    array = design.array
    assert array is not None
    columns = array.columns or len(turns)
    pairs = [(0, 1), (0, columns), (1, columns)]
    if not any(one < other < len(turns) and overlap(turns[one], turns[other]) for one, other in pairs):
        return
    if design.windings[0].design.winding.ring is not None and array.arrangement == "ring":
        yield _too_wide(design)
        return
    size = size_in_mm(design.windings[0].design.winding.outer_size)
    key, least = (
        ("radius", _least_radius(design, array))
        if array.arrangement == "ring"
        else ("pitch", _least_pitch(design))
    )
    given = size_in_mm(getattr(array, key))
    says = f"{given} makes them overlap: {len(turns)} coils of {size} need a {key} of {in_mm(least)} or more"
    yield Fault(key=f"array.{key}", says=f"{says}, besides what pads and leads need")


def _too_wide(design: Design) -> Fault:
    """Wedges whose angles are together more than a turn."""
    winding, count = design.windings[0].design.winding, len(design.windings)
    assert winding.angle is not None and winding.inner_radius is not None
    spacing = max(winding.trace_spacing, design.rules.limit("trace_spacing"))
    most = math.degrees(math.tau / count - math.asin(min(1.0, spacing / winding.inner_radius)))
    says = (
        f"{math.degrees(winding.angle):.4g} degrees are too wide for {count} wedges in a ring: use "
        f"{math.floor(most * 100) / 100:g} or less, or leave angle out"
    )
    return Fault(key="winding.angle", says=says)


def _least_radius(design: Design, array: Array) -> float:
    """Of the ring on which two neighbours keep the shop's spacing, m."""
    turn, first = math.tau / len(design.windings), design.windings[0].rotation

    def places(radius: float) -> tuple[tuple[float, Point], tuple[float, Point]]:
        return (first, complex(radius)), (first + math.degrees(turn), radius * direction(turn))

    assert array.radius is not None
    return _least(design, places)


def _least_pitch(design: Design) -> float:
    """Of coils side by side that keep the shop's spacing, m, along and across."""
    array, turned = design.array, design.windings[0].rotation

    def beside(pitch: float) -> tuple[tuple[float, Point], tuple[float, Point]]:
        return (turned, 0j), (turned, complex(pitch))

    def below(pitch: float) -> tuple[tuple[float, Point], tuple[float, Point]]:
        return (turned, 0j), (turned, complex(0.0, -pitch))

    ways = [beside, *([below] if array is not None and (array.rows or 1) > 1 else [])]
    return max(_least(design, way) for way in ways)


def _least(
    design: Design, places: Callable[[float], tuple[tuple[float, Point], tuple[float, Point]]]
) -> float:
    """The least length, m, with which two coils keep the shop's spacing; they part as it grows."""
    ring = Ring(*copper_edges(design.windings[0].design))
    spacing = design.rules.limit("trace_spacing")
    low, high = 0.0, 2.0 * len(design.windings) * design.windings[0].design.winding.span

    def clear(length: float) -> bool:
        one, other = (ring.moved(Isometry.placed(turn, at)) for turn, at in places(length))
        return apart(one, other) >= spacing

    while high - low > _STEP / 4:
        middle = (low + high) / 2
        low, high = (low, middle) if clear(middle) else (middle, high)
    return math.ceil(high / _STEP) * _STEP
