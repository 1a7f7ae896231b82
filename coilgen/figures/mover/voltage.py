"""Voltages that the mover induces in the phases of an array, and the winding factor."""

from collections.abc import Callable, Iterator

import numpy as np

from coilgen.figures.core._magnetics import IMPLANT_LEVEL
from coilgen.figures.mover._back_plate import saturated
from coilgen.figures.mover._cores import has_cores
from coilgen.figures.mover._joints import joints_share
from coilgen.figures.mover._machine import Machine, cancelled, machine, phases
from coilgen.figures.mover._magnets import mover_of, stator_plates
from coilgen.figures.mover._spreads import with_tolerances
from coilgen.physics.field.dipole import reach_on_axis
from coilgen.result.caution import WARNING
from coilgen.result.figure import Answer, Case, Quantity, spread_answer
from coilgen.units import readable

HARMONICS = 15
"""Highest order that is told."""
_ROWS = 72
_LETTERS = "ABCDEFGHIJKL"


def model(case: Case) -> str:
    """How voltages and torque are found."""
    mover = mover_of(case)
    iron = mover.back_plate or any(core.place != "pocket" for core in case.design.core)
    plates = ", iron plates by images in planes without end" if iron else ""
    cores = (
        ", with the flux of the cores in the coils, magnetised by the magnets at each place (volume "
        "integral, saturation as by the magnets alone)"
        if has_cores(case)
        else ""
    )
    joints = "" if _joined(case) else ", coils of a phase taken as joined in series"
    return (
        "flux of evenly magnetised magnets at typical remanence, recoil as in air, through each coil's whole "
        f"path with all layers{plates}{cores}; tracks of joints left out{_left_tracks(case)}{joints}"
    )


def _left_tracks(case: Case) -> str:
    """How much the joints' tracks may add."""
    share = 0.0 if case.values_only else joints_share(case)
    return f", by which it is off up to {100 * share:.1g} %" if share else ""


def _joined(case: Case) -> bool:
    return case.design.array is not None and case.design.array.coils != "open"


def of_row(case: Case) -> bool:
    """Whether the mover slides along a row."""
    return mover_of(case).arrangement == "row"


def per_speed(case: Case) -> str:
    """Unit of a voltage over the speed."""
    return "V s/m" if of_row(case) else "V s/rad"


def _constant(case: Case) -> Answer | None:
    if case.design.mover is None:
        return None
    return spread_answer(
        with_tolerances(case, lambda found: found.voltages.constant),
        f"amplitude of the fundamental, mean of the phases; {model(case)}",
        cautions=(
            *_strong(case),
            *_spinning(case),
            *_cancel(case),
            *_left_out(case),
            *saturated(case),
        ),
        unit=per_speed(case),
    )


def _line_constant(case: Case) -> Answer | None:
    if case.design.mover is None or phases(case) < 2:
        return None
    assert case.design.array is not None
    delta = case.design.array.connection == "delta"

    def line(found: Machine) -> float:
        return found.voltages.constant if delta else found.voltages.line_constant

    joined = "a phase's own, in a delta" if delta else "between the first two phases, as in a star"
    return spread_answer(
        with_tolerances(case, line),
        f"amplitude of the fundamental {joined}; {model(case)}",
        unit=per_speed(case),
    )


def _factor(case: Case) -> Answer | None:
    if case.design.mover is None:
        return None
    found = machine(case)
    return spread_answer(
        with_tolerances(case, lambda each: each.winding_factor, power=0),
        f"distribution factor {found.distribution:.4f} times pitch factor {found.pitch:.4f}: voltages of all "
        "strips of a coil added as phasors of the fundamental over the sum of their sizes"
        + (
            ", in the magnets' own field: what cores add goes through all turns alike"
            if has_cores(case)
            else ""
        ),
    )


def _harmonics(case: Case) -> Answer | None:
    if case.design.mover is None:
        return None
    phasors = machine(case).voltages.harmonics
    orders = range(1, HARMONICS + 1, 2)
    first, line = np.abs(phasors).mean(axis=0), _line(phasors)
    return Answer(
        value=[
            {
                "order": order,
                "phase": float(first[order] / first[1]),
                "line": None if line is None else float(line[order] / line[1]),
            }
            for order in orders
        ],
        model="amplitudes over that of the fundamental: mean of the phases, and between the first two",
    )


def _line(phasors: np.ndarray) -> np.ndarray | None:
    return None if len(phasors) < 2 else np.asarray(np.abs(phasors[0] - phasors[1]))


def _against_place(case: Case) -> Answer | None:
    if case.design.mover is None:
        return None
    voltages, place = machine(case).voltages, "place m" if of_row(case) else "angle rad"
    letters = _LETTERS[: len(voltages.slopes)]
    key = place.split()[0]
    step = len(voltages.places) // _ROWS or 1
    return Answer(
        value=[
            {key: float(at), **dict(zip(letters, map(float, column), strict=True))}
            for at, column in zip(voltages.places[::step], voltages.slopes.T[::step], strict=True)
        ],
        model=f"voltage of each phase over the speed; {model(case)}",
        unit=f"table({place}, {', '.join(f'{letter} {per_speed(case)}' for letter in letters)})",
    )


def _strong(case: Case) -> Iterator[str]:
    mover = mover_of(case)
    moment = mover.magnet.remanences[1] * mover.pole_area * mover.magnet.thickness
    alone, on_iron = (readable(reach_on_axis(times * moment, IMPLANT_LEVEL), "m", 2) for times in (1, 2))
    plate = "" if mover.back_plate is None else f", {on_iron} on its iron plate, which mirrors it"
    yield (
        f"{WARNING}Magnets of a mover snap to each other, to plates and to tools, pinch and splinter: mount "
        "them one by one with a jig of wood or plastic and wear goggles. Keep bank cards, data carriers and "
        f"implants such as pacemakers away: near a single one the field is over 0.5 mT up to about "
        f"{alone}{plate}."
    )


def _spinning(case: Case) -> Iterator[str]:
    yield (
        f"{WARNING}A mover that is turned or pushed by hand, by its load or while it brakes feeds voltage "
        "back: a supply that takes no current back is driven up until something breaks down. Add a brake "
        "resistor or a clamp, and keep fingers and loose parts away from what moves."
    )


def _cancel(case: Case) -> Iterator[str]:
    if cancelled(case):
        found = machine(case)
        wide = found.pitch < found.distribution
        what = "the two sides of a coil" if wide else "the coils of a phase"
        remedy = "coils about as wide as a pole" if wide else "another array.phase_order"
        yield (
            f"{WARNING}Voltages of {what} cancel (winding factor {found.winding_factor:.2g}): speeds, "
            f"efficiency and ripple are left out, as these currents hardly move the mover; use {remedy}."
        )


def _left_out(case: Case) -> Iterator[str]:
    design = case.design
    metal = [*(["the stator's plates"] if stator_plates(case) else [])]
    metal += ["the cores in the coils"] if has_cores(case) else []
    metal += ["the base plate"] if design.mounting.base_plate is not None else []
    if metal:
        yield (
            f"Eddy currents and hysteresis that the moving magnets make in {' and '.join(metal)} are left "
            "out: they brake and warm, with the square of the speed; laminate them or keep them away."
        )


def _quantity(name: str, unit: str, says: str, compute: Callable[[Case], Answer | None]) -> Quantity:
    return Quantity(name=name, unit=unit, says=says, group="force", compute=compute, of="several")


FIGURES = (
    _quantity("voltage_constant", "V s/rad", "voltage of a phase over the mover's speed", _constant),
    _quantity(
        "line_voltage_constant", "V s/rad", "voltage between terminals over the mover's speed", _line_constant
    ),
    _quantity("winding_factor", "1", "of the fundamental: what coils' spread and width leave", _factor),
    _quantity(
        "voltage_harmonics",
        "table(order 1, phase 1, line 1)",
        "harmonics of the induced voltage over its fundamental",
        _harmonics,
    ),
    _quantity(
        "voltage_against_angle",
        "table(angle rad)",
        "induced voltages of the phases over the speed, against the mover's place",
        _against_place,
    ),
)
