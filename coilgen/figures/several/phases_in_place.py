"""Phases of an array with cores and target where they stand: what a meter reads of the finished part."""

from coilgen.figures.several._network import line_flows, phase_flows
from coilgen.figures.several.coupling_in_place import added, slow
from coilgen.figures.several.phases import letters, mutual, way_of_current
from coilgen.result.figure import Answer, Case, Quantity

_STANDING = "for small changes about all drives' currents while on; slow: no eddy currents"


def _phases(case: Case) -> Answer | None:
    bodies = added(case)
    if case.design.array is None or bodies is None:
        return None
    flows = phase_flows(case)
    return Answer(
        value=[
            [mutual(case, one, other) + float(one.coils @ bodies @ other.coils) for other in flows]
            for one in flows
        ],
        model=f"self and mutual inductances of {way_of_current(case)}, the coils with cores and "
        f"target, their joints without; {_STANDING}",
        labels=letters(case),
        cautions=slow(case),
    )


def _lines(case: Case) -> Answer | None:
    bodies = added(case)
    if case.design.array is None or case.design.array.connection == "open" or bodies is None:
        return None
    found = line_flows(case)
    return Answer(
        value=[mutual(case, flow, flow) + float(flow.coils @ bodies @ flow.coils) for flow in found.values()],
        model=f"between two terminals, {way_of_current(case)}, with cores and target; {_STANDING}",
        labels=tuple(f"{one}-{other}" for one, other in found),
    )


FIGURES = (
    Quantity(
        name="phase_inductance_matrix_in_place",
        unit="H",
        says="self and mutual inductances of the phases with cores and target where they stand",
        group="core",
        compute=_phases,
        of="several",
    ),
    Quantity(
        name="line_inductance_in_place",
        unit="H",
        says="inductance between each two terminals with cores and target: what a meter reads",
        group="core",
        compute=_lines,
        of="several",
    ),
)
