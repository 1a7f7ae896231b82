"""Smallest width and spacing of the copper as drawn."""

from coilgen.artwork.gaps import smallest_gap
from coilgen.result.figure import Answer, Case, Quantity


def _width(case: Case) -> Answer:
    return Answer(value=min(trace.width for trace in case.art.traces), model="as drawn")


def _spacing(case: Case) -> Answer | None:
    gaps = [smallest_gap(case.art, layer) for layer in range(1, case.art.copper_layers + 1)]
    found = [gap for gap in gaps if gap is not None]
    return (
        Answer(value=min(found), model="exact, between any two pieces of one layer that are not joined there")
        if found
        else None
    )


FIGURES = (
    Quantity(name="smallest_width", unit="m", says="narrowest trace", group="winding", compute=_width),
    Quantity(
        name="smallest_spacing",
        unit="m",
        says="smallest distance between copper edges that are not joined there",
        group="winding",
        compute=_spacing,
    ),
)
