"""Inductance of the real winding at uniform current, and of its layers."""

import numpy as np

from coilgen.layout.coil import layer_shares
from coilgen.physics.inductance.sensitivity import ring_inductance
from coilgen.physics.inductance.winding import LayerInductances, layer_inductances
from coilgen.result.figure import Answer, Case, Quantity, spread_answer
from coilgen.result.spread import Shift, Spread, within

_KEY = "layer inductances"


def _layers(case: Case) -> LayerInductances:
    return case.once(_KEY, lambda: layer_inductances(case.conductor))


def _inductance(case: Case) -> Answer:
    found = _layers(case)
    total = found.shared(layer_shares(case.coil, case.shares))
    error = 0.0 if case.values_only else found.relative_error
    model = within(total, "model of inductance", error)
    return spread_answer(
        Spread(total, {**_section(case, total), **model.shifts}),
        f"all pieces with each other, leads included, uniform current, by {found.method}; "
        "no core or metal near; the band is that of width, thickness and dielectric and the expected error",
    )


def _section(case: Case, total: float) -> dict[str, Shift]:
    """What the tolerances of the winding's section change, H: in the ratio in which rings change."""
    tolerance = case.design.tolerance
    if not (tolerance.trace_width or tolerance.copper_thickness or tolerance.dielectric_thickness):
        return {}
    at_rest = _of_rings(case)

    def shifted(low: float, high: float) -> Shift:
        return total * (low / at_rest - 1), total * (high / at_rest - 1)

    width, copper, laminate = (
        tolerance.trace_width,
        tolerance.copper_thickness,
        tolerance.dielectric_thickness,
    )
    return {
        "trace width": shifted(_of_rings(case, wider=-width), _of_rings(case, wider=width)),
        "copper thickness": shifted(
            _of_rings(case, copper=1 / (1 + copper)), _of_rings(case, copper=1 + copper)
        ),
        "dielectric thickness": shifted(
            _of_rings(case, laminate=1 - laminate), _of_rings(case, laminate=1 + laminate)
        ),
    }


def _of_rings(case: Case, *, wider: float = 0.0, copper: float = 1.0, laminate: float = 1.0) -> float:
    """Inductance of rings as long as the winding's turns, H, with its section changed."""
    winding, stackup = case.design.winding, case.design.board.stackup
    made = stackup.unchecked(
        copper=tuple(each * copper for each in stackup.copper),
        dielectric=tuple(each * laminate for each in stackup.dielectric),
    )
    turns = max(1, round(winding.turns))
    wound = sum(trace.path.length for trace in case.coil.traces if not trace.is_lead)
    length = wound / winding.layers
    pitch = winding.trace_width + winding.trace_spacing
    mean = length / (2 * np.pi * turns)
    layers, shares = case.wound, layer_shares(case.coil, case.shares)
    return ring_inductance(
        np.maximum(mean + pitch * (np.arange(turns) - (turns - 1) / 2), 0.1 * mean),
        max(winding.trace_width + wider, 0.05 * winding.trace_width),
        np.array([made.copper[layer - 1] for layer in layers]),
        np.array([made.height(layer) for layer in layers]),
        np.array([shares[layer] for layer in layers]),
    )


def _matrix(case: Case) -> Answer:
    found = _layers(case)
    return Answer(value=found.matrix.tolist(), model=f"copper layers {_numbers(found)}, by {found.method}")


def _coupling(case: Case) -> Answer:
    found = _layers(case)
    return Answer(value=found.coupling.tolist(), model=f"copper layers {_numbers(found)}")


def _numbers(found: LayerInductances) -> str:
    return ", ".join(str(layer) for layer in found.layers)


FIGURES = (
    Quantity(
        name="inductance",
        unit="H",
        says="self inductance between the terminals",
        group="electrical",
        compute=_inductance,
        of="each",
    ),
    Quantity(
        name="layer_inductances",
        unit="H",
        says="self and mutual inductances of the layers; in series their sum is the inductance",
        group="electrical",
        compute=_matrix,
        of="each",
    ),
    Quantity(
        name="layer_coupling",
        unit="1",
        says="coupling coefficients of the layers",
        group="electrical",
        compute=_coupling,
        of="each",
    ),
)
