"""A bend is wide enough for the board's thickness and layers, and for how often it is bent."""

import math
from collections.abc import Iterable
from typing import Any

from coilgen.artwork.art import Art
from coilgen.catalogue import rows
from coilgen.design.design import Design
from coilgen.design.stackup import Stackup
from coilgen.design.tail import Bend
from coilgen.layout.coil import Coil
from coilgen.result.rule import Finding, Rule
from coilgen.rules._places import TOLERANCE
from coilgen.units import in_mm

_MOST_REPEATED = 2
"""Copper layers of a board that is bent again and again."""


def check(design: Design, coil: Coil, art: Art) -> Iterable[Finding]:
    """Every bend of the tail."""
    stackup = design.board.stackup
    for number, (bend, line) in enumerate(zip(design.bend, art.bends, strict=True), start=1):
        least = least_radius(stackup, bend.kind)
        if bend.radius < least - TOLERANCE:
            never = math.isinf(least)  # told by the layers then, of which there are too many
            yield Finding(
                rule="bend_radius",
                value=stackup.layers if never else bend.radius,
                limit=_MOST_REPEATED if never else least,
                unit="1" if never else "m",
                layer=None,
                at=(line.path.start + line.path.end) / 2,
                says=_says(bend, number, stackup, least),
            )


def least_radius(stackup: Stackup, kind: str) -> float:
    """Of a bend once or repeated, m; infinite where a board of so many layers does not bear it."""
    row: Any = rows("bends")[kind]
    ratio = row["radius"][min(stackup.layers, 3) - 1]
    return ratio * stackup.finished_thickness if ratio else math.inf


def _says(bend: Bend, number: int, stackup: Stackup, least: float) -> str:
    layers = f"{stackup.layers} copper layer{'s' if stackup.layers > 1 else ''}"
    if math.isinf(least):
        return (
            f"Bend {number} is repeated on {layers}, which tire: take a stack-up of one or two layers, or "
            "bend it once only."
        )
    ratio = least / stackup.finished_thickness
    return (
        f"Bend {number}, {bend.kind}, has a radius of {in_mm(bend.radius)}: {layers}, "
        f"{in_mm(stackup.finished_thickness)} over all, take {ratio:.0f} times that, {in_mm(least)}: raise "
        "its radius, or take a thinner stack-up."
    )


RULE = Rule(
    name="bend_radius",
    says="least radius of a bend, by thickness, copper layers and kind",
    unit="m",
    check=check,
)
