"""No board larger than the shop takes."""

from collections.abc import Iterable

from coilgen.artwork.art import Art, copper_extent
from coilgen.design.design import Design
from coilgen.geometry.extent import extent
from coilgen.layout.coil import Coil
from coilgen.result.rule import Finding, Rule
from coilgen.rules._places import TOLERANCE
from coilgen.units import in_mm


def check(design: Design, coil: Coil, art: Art) -> Iterable[Finding]:
    """The board's longer side, or that of its copper when it has no outline."""
    limit = design.rules.limit("board_size")
    low, high = extent(art.outline) if art.outline else copper_extent(art)
    side = max(high.real - low.real, high.imag - low.imag)
    if side <= limit + TOLERANCE:
        return ()
    says = (
        f"The board's longer side is {in_mm(side)}, over {in_mm(limit)}: "
        "make winding.outer_size or the board smaller, or choose another shop."
    )
    return (
        Finding(
            rule="board_size", value=side, limit=limit, unit="m", layer=None, at=(low + high) / 2, says=says
        ),
    )


RULE = Rule(name="board_size", says="largest side of a board", unit="m", check=check)
