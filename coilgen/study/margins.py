"""How far a design is from limits that are known only by drawing it, as numbers."""

import math

from coilgen.design.design import Design
from coilgen.layout.landings.layer_changes import fits
from coilgen.layout.lengths import Lengths
from coilgen.layout.shape import shape_named

_EXACT = 1e-6
"""m."""


def least_inner_size(design: Design) -> float:
    """Least clear opening inside the winding that has room for pads and pocket, m, to the micrometre above:
    of two sizes the lesser.

    Turns, trace and spacing stay as they are, the outer size follows; the design itself may be one without
    room. Where a pad just slips past another the limit is jagged: this is one at which it fits, and a
    micrometre less does not. Infinite where no size helps.
    """
    own = design.winding.opening
    inside, room = (own, own) if _fits(design, own) else (own, _enough(design, own))
    if math.isinf(room):
        return room
    none = 0.0 if inside == room else own
    while room - none > _EXACT:
        middle = (none + room) / 2
        none, room = (none, middle) if _fits(design, middle) else (middle, room)
    return room


def room_inside(design: Design) -> float:
    """What the opening has more than it needs, m; negative where it has no room."""
    return design.winding.opening - least_inner_size(design)


def _enough(design: Design, size: float) -> float:
    """A size with room, doubled until there is."""
    most = 8 * (design.winding.span + (0.0 if design.pocket is None else max(design.pocket.sizes)))
    while size < most:
        size = 2 * size
        if _fits(design, size):
            return size
    return math.inf


def _fits(design: Design, opening: float) -> bool:
    other = design.winding.unchecked(**design.winding.opened(opening))
    return fits(Lengths(design.unchecked(winding=other), shape_named(other.shape)))
