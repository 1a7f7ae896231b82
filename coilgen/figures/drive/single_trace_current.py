"""Current that a lone trace like the weakest of the winding would carry."""

from typing import Literal

from coilgen.layout.coil import Trace
from coilgen.physics.heat.trace_current import single_trace_current
from coilgen.result.figure import Answer, Case, Quantity

RISE = 20.0
"""K, usual for a board's traces (common practice, no source)."""


def _single(case: Case) -> Answer:
    traces = zip(case.shares, case.coil.traces, strict=True)
    carried = [(_alone(case, trace) / share, trace) for share, trace in traces]
    least, weakest = min(carried, key=lambda each: each[0])
    return Answer(
        value=least,
        model=f"IPC-2221 for a lone trace of the weakest one's size, on copper layer {weakest.layer} "
        f"({_place(case, weakest)}), {RISE:g} K warmer than the air; it does not hold for windings: "
        "close-packed turns heat each other; largest_current counts that",
    )


def _alone(case: Case, trace: Trace) -> float:
    thickness = case.design.board.stackup.copper[trace.layer - 1]
    return single_trace_current(trace.width, thickness, RISE, _place(case, trace))


def _place(case: Case, trace: Trace) -> Literal["outer", "inner"]:
    return "outer" if trace.layer in (1, case.design.board.stackup.layers) else "inner"


FIGURES = (
    Quantity(
        name="single_trace_current",
        unit="A",
        says="current of the coil by the rule for lone traces, which does not hold for windings",
        group="drive",
        compute=_single,
        of="each",
    ),
)
