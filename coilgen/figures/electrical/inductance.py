"""Inductance of the real winding at uniform current, and of its layers."""

import numpy as np

from coilgen.physics.inductance.winding import LayerInductances, layer_inductances
from coilgen.result.figure import Answer, Case, Quantity

_KEY = "layer inductances"


def _layers(case: Case) -> LayerInductances:
    return case.once(_KEY, lambda: layer_inductances(case.conductor))


def _inductance(case: Case) -> Answer:
    found = _layers(case)
    shares = np.array([_share(case, layer) for layer in found.layers])
    total, error = float(shares @ found.matrix @ shares), found.relative_error
    return Answer(
        value=total,
        model=f"all pieces with each other, leads included, uniform current, by {found.method}; "
        "no core or metal near; the band is the expected error",
        band=(total * (1 - error), total * (1 + error)),
    )


def _share(case: Case, layer: int) -> float:
    """Share of the current in a layer's winding; a lead on a wound layer goes with the winding."""
    return min(
        share for share, trace in zip(case.shares, case.coil.traces, strict=True) if trace.layer == layer
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
    ),
    Quantity(
        name="layer_inductances",
        unit="H",
        says="self and mutual inductances of the layers; in series their sum is the inductance",
        group="electrical",
        compute=_matrix,
    ),
    Quantity(
        name="layer_coupling",
        unit="1",
        says="coupling coefficients of the layers",
        group="electrical",
        compute=_coupling,
    ),
)
