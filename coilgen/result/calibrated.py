"""Answers for boards like those that a bench measured."""

from dataclasses import replace
from typing import TYPE_CHECKING

from coilgen.design.design import Design
from coilgen.result.known_together import known_together
from coilgen.result.spread import Spread

if TYPE_CHECKING:
    from coilgen.result.figure import Answer


def calibrated(answer: "Answer", design: Design) -> "Answer":
    """The answer where a design has a calibration: it says so, and knows what goes together."""
    if design.calibration is None or not design.calibration.name:
        return answer
    model = f"{answer.model}; calibrated: of boards made as {design.calibration.source} tells"
    if answer.spread is None:
        return replace(answer, model=model)
    spread = replace(answer.spread, together=known_together(design))
    return replace(answer, model=model, spread=spread, band=_narrower(answer, spread))


def _narrower(answer: "Answer", spread: Spread) -> tuple[float, float] | None:
    """The band of the spread; its upper end where the answer's own is held back, as at copper's melting."""
    if answer.band is None or answer.spread is None:
        return None
    (low, high), held = spread.band, answer.band[1]
    return low, min(high, held) if held < answer.spread.band[1] else high
