"""Where layer changes and lead landings stand: in a row inside the winding and a row outside it.

A layer change passes every layer, so its pads keep their clearance from the windings of all layers, from
the pocket, and from the other changes. Each stands as near as it can to where its layers' spirals end.
"""

import math
from dataclasses import replace

from coilgen.design.keys import Size
from coilgen.errors import DesignError, Fault
from coilgen.layout.landings.arrangement import arranged
from coilgen.layout.landings.landing import LayerChanges
from coilgen.layout.lengths import Lengths
from coilgen.units import in_mm, size_in_mm


def layer_changes(lengths: Lengths) -> LayerChanges:
    """All places of a winding; DesignError when the opening inside the winding has no room for them."""
    found = arranged(lengths)
    if found is None:
        raise DesignError([_large_corners(lengths) or _no_room(lengths)])
    return found


def fits(lengths: Lengths) -> bool:
    """Whether the opening inside the winding, and the row outside, have room for all places."""
    try:
        return arranged(lengths) is not None
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
        return arranged(_with(lengths, corner_size=micrometres * 1e-6)) is not None

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
    if winding.angle is None or arranged(_with(lengths, angle=_WIDEST)) is None:
        return None
    failing, fitting = winding.angle, _WIDEST
    while fitting - failing > math.radians(0.001):
        middle = (failing + fitting) / 2
        failing, fitting = (failing, middle) if arranged(_with(lengths, angle=middle)) else (middle, fitting)
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
    if arranged(_widened(lengths, largest)) is None:
        return None
    low, high = 0.0, largest
    while high - low > 1e-6:
        middle = (low + high) / 2 if low else high / 16  # wide openings have many places to look at
        low, high = (low, middle) if arranged(_widened(lengths, middle)) else (middle, high)
    return high


def _widened(lengths: Lengths, by: float) -> Lengths:
    return _with(lengths, **lengths.design.winding.widened(by))


def _with(lengths: Lengths, **sizes: object) -> Lengths:
    """The same with other sizes of the winding."""
    winding = lengths.design.winding.unchecked(**sizes)
    return replace(lengths, design=lengths.design.unchecked(winding=winding))
