"""Textbook closed forms for one layer, beside what the engine finds for it: a cross-check by eye."""

from collections.abc import Iterator

from coilgen.physics.inductance.closed_forms import (
    CURRENT_SHEET,
    CURRENT_SHEET_BIAS,
    MODIFIED_WHEELER,
    MODIFIED_WHEELER_BIAS,
    WHEELER_FLAT_BIAS,
    current_sheet_inductance,
    modified_wheeler_inductance,
    wheeler_flat_inductance,
)
from coilgen.result.figure import Answer, Case, Quantity


def _closed_forms(case: Case) -> Answer | None:
    engine = case.value("layer_inductances")[0][0]
    rows = [
        {
            "form": form,
            "inductance": value,
            "over_engine": value / engine - 1,
            "usual_low": usual[0],
            "usual_high": usual[1],
        }
        for form, value, usual in _forms(case)
    ]
    model = (
        "of layer 1 alone, without leads; over_engine: share above the engine; usual: where it mostly lies"
    )
    return Answer(value=rows, model=model) if rows else None


def _forms(case: Case) -> Iterator[tuple[str, float, tuple[float, float]]]:
    asked = case.design.winding
    sizes = (asked.turns, asked.span, asked.opening)
    if asked.shape in CURRENT_SHEET:
        value = current_sheet_inductance(*sizes, asked.shape)
        yield "current sheet, Mohan 1999", value, CURRENT_SHEET_BIAS[asked.shape]
    if asked.shape in MODIFIED_WHEELER:
        value = modified_wheeler_inductance(*sizes, asked.shape)
        yield "modified Wheeler, Mohan 1999", value, MODIFIED_WHEELER_BIAS[asked.shape]
    if asked.shape == "round":
        yield "flat coil, Wheeler 1928", wheeler_flat_inductance(*sizes), WHEELER_FLAT_BIAS


FIGURES = (
    Quantity(
        name="closed_forms",
        unit="table(form, inductance H, over_engine 1, usual_low 1, usual_high 1)",
        says="inductance of one layer by closed forms, as a cross-check",
        group="electrical",
        compute=_closed_forms,
        of="each",
    ),
)
