"""Smallest width and spacing of the copper as drawn."""

from coilgen.artwork.gaps import smallest_gap
from coilgen.result.figure import Answer, Case, Quantity, spread_answer
from coilgen.result.spread import told


def _width(case: Case) -> Answer:
    drawn = min(trace.width for trace in case.art.traces)
    etched = case.design.tolerance.trace_width
    finished = told(drawn, "trace width", max(drawn - etched, 0.0), drawn + etched)
    return spread_answer(finished, "as drawn; the band is what etching leaves")


def _spacing(case: Case) -> Answer | None:
    gaps = [smallest_gap(case.art, layer) for layer in range(1, case.art.copper_layers + 1)]
    found = [gap for gap in gaps if gap is not None]
    if not found:
        return None
    drawn, etched = min(found), case.design.tolerance.trace_width
    finished = told(drawn, "trace width", drawn + etched, max(drawn - etched, 0.0))
    says = (
        "exact as drawn, between any two pieces of one layer that are not joined there; etching sets the band"
    )
    return spread_answer(finished, says)


FIGURES = (
    Quantity(
        name="smallest_width",
        unit="m",
        says="narrowest trace",
        group="winding",
        compute=_width,
        of="board",
    ),
    Quantity(
        name="smallest_spacing",
        unit="m",
        says="smallest distance between copper edges that are not joined there",
        group="winding",
        compute=_spacing,
        of="board",
    ),
)
