"""No hole so deep for its width that it cannot be plated: board thickness over drill diameter."""

from collections.abc import Iterable

from coilgen.artwork.art import Art, Hole
from coilgen.design.design import Design
from coilgen.layout.coil import Coil
from coilgen.result.rule import Finding, Rule
from coilgen.units import in_mm


def check(design: Design, coil: Coil, art: Art) -> Iterable[Finding]:
    """One finding for each size of hole that is too deep, the smallest first."""
    thickness, limit = design.board.stackup.thickness, design.rules.limit("drill_aspect_ratio")
    deep = [hole for hole in art.holes if hole.plated and thickness > limit * hole.diameter]
    one_of_each = {hole.diameter: hole for hole in sorted(deep, key=lambda hole: -hole.diameter)}
    return [_finding(hole, thickness, limit) for hole in reversed(one_of_each.values())]


def _finding(hole: Hole, thickness: float, limit: float) -> Finding:
    ratio = thickness / hole.diameter
    return Finding(
        rule="drill_aspect_ratio",
        value=ratio,
        limit=limit,
        unit="1",
        layer=None,
        at=hole.at,
        says=(
            f"The board is {ratio:.1f} times as thick as the drill of {in_mm(hole.diameter)} is wide, over "
            f"{limit:g}: make {hole.diameter_key} at least {in_mm(thickness / limit)}, or the board thinner."
        ),
    )


RULE = Rule(name="drill_aspect_ratio", says="most board thickness over drill diameter", unit="1", check=check)
