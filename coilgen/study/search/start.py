"""Where a search begins: the design's own values, brought into what may vary."""

from __future__ import annotations

from coilgen.design.changes import within
from coilgen.design.design import Design
from coilgen.design.key_paths import field_in, kind_of
from coilgen.design.keys import Quantity
from coilgen.design.optimizing import Span
from coilgen.design.sweeping import Axis, Choice, number_of


def own_value(axis: Axis | Span, design: Design) -> Choice:
    """The design's value of a key, or the nearest that is allowed; the first choice for what is no number."""
    written = _written(design.written, axis.key.split("."))
    if isinstance(axis, Span):
        value = _in_unit(written, axis, design)
        return min(axis.high, max(axis.low, value)) if value is not None else (axis.low + axis.high) / 2
    if written in axis.choices:
        return axis.choices[axis.choices.index(written)]  # 12.0 where 12 is written
    value = _in_unit(written, axis, design) if axis.numeric else None
    if value is None:
        return axis.choices[0]
    return min(axis.choices, key=lambda choice: abs(float(choice) - value))  # type: ignore[arg-type]  # numeric


def _in_unit(written: object, axis: Axis | Span, design: Design) -> float | None:
    """A written number in the key's own unit."""
    if isinstance(written, int | float) and not isinstance(written, bool):
        return float(written)
    if not isinstance(written, str):
        return None
    kind = kind_of(field_in(Design, design.written, axis.key))
    try:
        return float(number_of(written, kind, "value")) if isinstance(kind, Quantity) else None
    except ValueError:
        return None


def _written(inside: object, steps: list[str]) -> object:
    for step in steps:
        inside = within(inside, step)
    return inside
