"""Length of the copper path and the number of turns."""

from coilgen.result.figure import Answer, Case, Quantity


def _length(case: Case) -> Answer:
    total = sum(trace.path.length for trace in case.coil.traces)
    return Answer(value=total, model="exact: lines and arcs of all traces with leads, without via barrels")


def _turns(case: Case) -> Answer:
    return Answer(value=case.coil.turns, model="turns of a layer times wound layers; leads not counted")


FIGURES = (
    Quantity(
        name="turns_total",
        unit="1",
        says="turns of the whole winding",
        group="winding",
        compute=_turns,
        of="each",
    ),
    Quantity(
        name="trace_length",
        unit="m",
        says="length of all traces, leads included",
        group="winding",
        compute=_length,
        of="each",
    ),
)
