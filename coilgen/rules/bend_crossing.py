"""Traces cross a bend straight and at a right angle to it."""

from collections.abc import Iterable

from coilgen.artwork.art import Art, BendLine
from coilgen.design.design import Design
from coilgen.geometry.line import Line
from coilgen.geometry.path import LARGEST_GAP, Segment
from coilgen.geometry.point import cross
from coilgen.layout.coil import Coil
from coilgen.result.rule import Finding, Rule
from coilgen.rules._bends import near_strip
from coilgen.rules._places import Place, short_lengths


def check(design: Design, coil: Coil, art: Art) -> Iterable[Finding]:
    """Pieces of traces in what is bent that do not run along the tail."""
    for bend in art.bends:
        askew = [
            (segment, trace.width, trace.layer)
            for trace in art.traces
            for segment in trace.path.segments
            if not _along(segment, bend)
        ]
        yield from short_lengths("bend_crossing", 0.0, near_strip(askew, bend, LARGEST_GAP * 2), _says)


def _along(segment: Segment, bend: BendLine) -> bool:
    if not isinstance(segment, Line):
        return False
    return abs(cross(segment.end - segment.start, bend.along)) <= LARGEST_GAP * abs(bend.along)


def _says(place: Place) -> str:
    return (
        "A trace bends, or runs askew, where the tail is bent, and will tire there: move the bend to where "
        "leads run straight, or lengthen the tail."
    )


RULE = Rule(
    name="bend_crossing",
    says="traces in a bend run straight across it",
    unit="m",
    check=check,
)
