"""Traces no narrower than the shop can etch."""

from collections.abc import Iterable

from coilgen.artwork.art import Art
from coilgen.design.design import Design
from coilgen.geometry.point import Point
from coilgen.layout.coil import Coil, Trace
from coilgen.result.rule import Finding, Rule
from coilgen.rules._places import Place, places, short_lengths
from coilgen.units import in_mm, measured_mm


def check(design: Design, coil: Coil, art: Art) -> Iterable[Finding]:
    """The narrow traces of each layer."""
    limit = design.rules.limit("trace_width")
    found = places(Place(value=trace.width, at=_middle(trace), layer=trace.layer) for trace in art.traces)
    return short_lengths(
        "trace_width",
        limit,
        found,
        lambda place: (
            f"The trace is {measured_mm(place.value, limit)} wide, under {in_mm(limit)}: widen "
            "winding.trace_width, with fewer turns if there is no room, or choose a finer shop."
        ),
    )


def _middle(trace: Trace) -> Point:
    segments = trace.path.segments
    return segments[len(segments) // 2].at(0.5)


RULE = Rule(name="trace_width", says="least width of a trace", unit="m", check=check)
