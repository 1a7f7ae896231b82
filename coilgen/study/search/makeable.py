"""Choices that no shop can make, told before anything is searched: they would only be passed over."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from coilgen.catalogue import rows
from coilgen.design.capability import Rules
from coilgen.design.key_paths import of_any_winding
from coilgen.design.optimizing import Span
from coilgen.errors import Fault
from coilgen.units import in_mm

if TYPE_CHECKING:
    from coilgen.design.design import Design
    from coilgen.design.sweeping import Axis

_LEAST = {
    "winding.trace_width": "trace_width",
    "winding.trace_spacing": "trace_spacing",
    "via.drill": "drill_diameter",
}
"""Lengths that a shop's limit of this name keeps from below."""
_MILLI = 1e-3
_SAME = 1 - 1e-9


def unmakeable(design: Design, axes: tuple[Axis | Span, ...]) -> list[Fault]:
    """A fault for each choice, or range as a whole, that is under every shop's limit and the design's own."""
    varied = {axis.key for axis in axes}
    found: list[Fault] = []
    for axis in axes:
        limit = _LEAST.get(of_any_winding(axis.key))
        if limit is not None and not varied & {"rules", f"rules.{limit}"}:
            found += _under(axis, limit, design.rules.limit(limit))
    return found


def _under(axis: Axis | Span, limit: str, own: float) -> Iterator[Fault]:
    shop, finest = _finest(limit)
    least = min(own, finest)
    for place, value in _told(axis):
        if value * _MILLI < _SAME * least:
            says = (
                f"{in_mm(value * _MILLI)} is under {in_mm(finest)}, the finest that any shop makes ({shop}); "
                f"leave it out, or tell your shop's limit as rules.{limit}"
            )
            yield Fault(key=f"optimize.vary.{axis.key}{place}", says=says)


def _told(axis: Axis | Span) -> Iterator[tuple[str, float]]:
    """Each choice with its place; of a range the largest value."""
    if isinstance(axis, Span):
        yield "", axis.high
        return
    for number, choice in enumerate(axis.choices, start=1):
        if isinstance(choice, int | float):
            yield f", value {number}", float(choice)


def _finest(limit: str) -> tuple[str, float]:
    """The shop with the least limit, and that."""
    limits = {shop: Rules(shop=shop).limit(limit) for shop in rows("shops")}
    shop = min(limits, key=lambda name: limits[name])
    return shop, limits[shop]
