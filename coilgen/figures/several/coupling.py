"""Inductance matrix and coupling of a board's windings."""

import math
from collections.abc import Iterator

import numpy as np

from coilgen.figures.several._linkage import inductance_matrix
from coilgen.figures.several.coupling_in_place import added
from coilgen.physics.base.conductor import Floats
from coilgen.physics.circuit.drive import above_extra_low_voltage
from coilgen.result.caution import WARNING
from coilgen.result.figure import Answer, Case, Quantity, Winding
from coilgen.units import readable

_TRANSFORMER = 0.1
"""Coupling from which on windings act on one another as a transformer's."""
_COUNTED = (
    "flux of one along the path of the other, uniform current, leads included, each closed straight between "
    "its terminals; no core or metal near"
)


def _inductances(case: Case) -> Answer:
    return Answer(
        value=inductance_matrix(case).tolist(),
        model="windings in the order of the file; self inductances as each winding's own; mutual: "
        f"{_COUNTED}; positive where currents from odd to even terminals help each other",
        cautions=_with_bodies(case),
        labels=_names(case),
    )


def _names(case: Case) -> tuple[str, ...]:
    return tuple(each.name for each in case.windings)


def _with_bodies(case: Case) -> tuple[str, ...]:
    design = case.design
    if design.core or design.target:
        return (
            "inductance_matrix and coupling are those of the bare windings: inductance_matrix_in_place and "
            "coupling_in_place are with what stands at them.",
        )
    near = [
        word
        for word, there in (("magnet", design.magnet), ("base plate", design.mounting.base_plate))
        if there
    ]
    if not near:
        return ()
    told = " and ".join(near)
    return (
        f"Inductances and coupling of the windings leave {told} out: metal takes from them, the more the "
        "higher the frequency.",
    )


def _coupling(case: Case) -> Answer:
    matrix = inductance_matrix(case)
    root = np.sqrt(np.diag(matrix))
    return Answer(
        value=(matrix / np.outer(root, root)).tolist(),
        model="mutual inductance over the root of both self inductances",
        cautions=() if case.values_only or case.design.array else tuple(_induced(case, matrix)),
        labels=_names(case),
    )


def _induced(case: Case, matrix: Floats) -> Iterator[str]:
    """Windings that a changing drive of another acts on as a transformer does, at the worst of each."""
    for driving, winding in enumerate(case.windings):
        across = _changing(winding, matrix[driving, driving])
        share = np.abs(matrix[driving]) / np.sqrt(matrix[driving, driving] * np.diag(matrix))
        others = [k for k in np.flatnonzero(share > _TRANSFORMER).tolist() if k != driving]
        if not others or across is None:
            continue
        most = max(others, key=lambda k: abs(matrix[driving, k]))
        induced = across * abs(matrix[driving, most]) / matrix[driving, driving]
        warning = WARNING if above_extra_low_voltage(induced, alternating=True) else ""
        yield (
            f"{warning}{winding.name} and {case.windings[most].name} are a transformer: about "
            f"{readable(induced, 'V', 2)} stand across {case.windings[most].name} from the drive of "
            f"{winding.name} alone. Currents, power and temperatures are told as if neither drove a current "
            "round the other."
        )


def _changing(winding: Winding, inductance: float) -> float | None:
    """Voltage that changes a winding's current, V; None for none, direct ones and edges that are not told."""
    drive = winding.case.design.drive
    if drive.idle:
        return None
    if drive.waveform == "sine":
        assert drive.frequency is not None
        return math.tau * drive.frequency * inductance * float(winding.case.value("current"))
    return float(winding.case.value("voltage")) if drive.waveform == "square" and drive.voltage else None


def _resistances(case: Case) -> Answer:
    return Answer(
        value=[float(each.case.value("resistance_20c")) for each in case.windings],
        model="each winding's own at 20 degC, in the order of the file; bands with each winding",
        labels=_names(case),
    )


def _currents(case: Case) -> Answer:
    idle = any(each.case.design.drive.idle for each in case.windings)
    induced = _induced_voltages(case) if idle else []
    rows = [
        {
            "winding": each.name,
            "current": each.case.value("current"),
            "voltage": induced[k] if each.case.design.drive.idle else each.case.value("voltage"),
            "power": each.case.value("power"),
        }
        for k, each in enumerate(case.windings)
    ]
    effective = ", root mean square with the mover held" if case.design.mover is not None else ""
    return Answer(
        value=rows,
        says=f"what each winding's drive sends through it{effective}",
        model=f"each winding at its own drive, copper at 20 degC, while it is on{_OPEN if idle else ''}",
        cautions=_in_step(case),
    )


_OPEN = (
    "; where none drives it, the root mean square that sines in the others induce across it, open: mutual "
    "inductance, with cores and target, times current, its own capacitance left out"
)


def _induced_voltages(case: Case) -> list[float | None]:
    """What sines in the others induce in each winding, V; None where none of them carries one.

    Sines of one frequency add in step, others by their squares.
    """
    bodies = added(case)
    mutual = inductance_matrix(case) if bodies is None else inductance_matrix(case) + bodies
    found: list[float | None] = []
    for number in range(len(case.windings)):
        flux: dict[float, float] = {}
        for winding, henry in zip(case.windings, mutual[number], strict=True):
            drive = winding.case.design.drive
            if drive.waveform == "sine" and drive.frequency is not None and not drive.idle:
                linked = float(henry * winding.case.value("current"))
                flux[drive.frequency] = flux.get(drive.frequency, 0.0) + linked
        found.append(math.hypot(*(math.tau * hertz * each for hertz, each in flux.items())) if flux else None)
    return found


def _in_step(case: Case) -> tuple[str, ...]:
    """How fields and forces of windings at different drives are counted."""
    if case.design.array is not None and case.design.array.phase_count > 1:
        return (
            "Fields and forces are those at the instant when phase A carries its whole current, the other "
            "phases what is then theirs of balanced currents.",
        )
    drives = [each.case.design.drive for each in case.windings]
    kinds = {(drive.waveform, drive.frequency) for drive in drives if not drive.idle}
    if kinds == {("dc", None)}:
        return ()
    return (
        "Fields and forces are those of all windings' currents at once and in step: at other instants, and "
        "where drives differ in frequency or phase, they are others.",
    )


FIGURES = (
    Quantity(
        name="inductance_matrix",
        unit="H",
        says="self and mutual inductances of the windings",
        group="electrical",
        compute=_inductances,
        of="several",
    ),
    Quantity(
        name="coupling",
        unit="1",
        says="coupling coefficients of the windings",
        group="electrical",
        compute=_coupling,
        of="several",
    ),
    Quantity(
        name="winding_resistances",
        unit="ohm",
        says="resistances of the windings at 20 degC",
        group="electrical",
        compute=_resistances,
        of="several",
    ),
    Quantity(
        name="winding_currents",
        unit="table(winding, current A, voltage V, power W)",
        says="what each winding's drive sends through it",
        group="drive",
        compute=_currents,
        of="several",
    ),
)
