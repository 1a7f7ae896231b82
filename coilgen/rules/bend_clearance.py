"""Nothing but traces lies where a tail is bent, or near there."""

from collections.abc import Iterable, Iterator
from functools import partial

import numpy as np

from coilgen.artwork.art import Art, BendLine
from coilgen.catalogue import rows
from coilgen.design.design import Design
from coilgen.geometry.containment import contains
from coilgen.geometry.line import Line
from coilgen.geometry.path import Path
from coilgen.layout.coil import Coil
from coilgen.result.rule import Finding, Rule
from coilgen.rules._bends import Body, near_strip, strip
from coilgen.rules._places import Place, places, short_lengths
from coilgen.units import in_mm, measured_mm, quantity


def check(design: Design, coil: Coil, art: Art) -> Iterable[Finding]:
    """Pads, holes, openings, edges of stiffeners and cut-outs near what is bent; stiffeners over it."""
    limit = quantity(rows("bends")["clearance"]["distance"], "length")
    for bend in art.bends:
        for what, bodies in _bodies(art):
            yield from short_lengths(
                "bend_clearance", limit, near_strip(bodies, bend, limit), partial(_says, what, limit)
            )
        yield from short_lengths(
            "bend_clearance", limit, places(_stiff(art, bend)), partial(_says, "a stiffener", limit)
        )


def _bodies(art: Art) -> Iterator[tuple[str, list[Body]]]:
    yield (
        "a pad",
        [(Line(*pad.ends) if pad.span else pad.at, pad.diameter, pad.layer) for pad in art.pads],
    )
    yield "a hole", [(hole.at, hole.diameter, 0) for hole in art.holes]
    yield "an opening of the coverlay", _edges(opening.path for opening in art.openings)
    yield "the edge of a stiffener", _edges(sheet.path for sheet in art.stiffeners)
    yield "a cut-out", _edges(art.pockets)


def _edges(paths: Iterable[Path]) -> list[Body]:
    return [(segment, 0.0, 0) for path in paths for segment in path.segments]


def _stiff(art: Art, bend: BendLine) -> Iterator[Place]:
    """Stiffeners that lie over all that is bent, edges and all."""
    middle = (bend.path.start + bend.path.end) / 2
    for sheet in art.stiffeners:
        if contains(sheet.path, np.array([middle]))[0]:
            depth = min(piece.distance(corner) for piece in sheet.path.segments for corner in _ends(bend))
            yield Place(value=-depth, at=middle)


def _ends(bend: BendLine) -> tuple[complex, ...]:
    return tuple(segment.start for segment in strip(bend).segments)


def _says(what: str, limit: float, place: Place) -> str:
    where = "in what is bent" if place.value <= 0 else f"{measured_mm(place.value, limit)} from what is bent"
    remedy = "move the bend, shorten what lies there, or lengthen the tail"
    return f"There is {what} {where}, under {in_mm(limit)}: {remedy}."


RULE = Rule(
    name="bend_clearance",
    says="least distance of pads, holes, openings and stiffeners from a bend",
    unit="m",
    check=check,
)
