"""Inductance of the real winding at uniform current, of its layers, and closed forms beside it."""

from coilgen.figure import Answer, Case, Quantity
from coilgen.physics.winding_inductance import LayerInductances, layer_inductances

_KEY = "layer inductances"


def _layers(case: Case) -> LayerInductances:
    return case.once(_KEY, lambda: layer_inductances(case.conductor))


def _inductance(case: Case) -> Answer:
    found = _layers(case)
    total, error = found.total, found.relative_error
    return Answer(
        value=total,
        model=f"all pieces with each other, leads included, uniform current, by {found.method}; "
        "no core or metal near; the band is the expected error",
        band=(total * (1 - error), total * (1 + error)),
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
        says="self inductance between the terminals, series winding",
        group="electrical",
        compute=_inductance,
    ),
    Quantity(
        name="layer_inductances",
        unit="H",
        says="self and mutual inductances of the layers; their sum is the inductance",
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
