"""The design as its calibration says that boards are made: what figures count with, not what is drawn."""

import math
from collections.abc import Callable, Iterable, Mapping
from typing import TYPE_CHECKING, Any

from coilgen.design.bodies import Core, Magnet, Target
from coilgen.design.calibration import Calibration, Cause, Limits
from coilgen.design.soft_material import SoftMaterial
from coilgen.design.stackup import Stackup
from coilgen.design.tolerance import Tolerance
from coilgen.physics.base.constants import MU0

if TYPE_CHECKING:
    from coilgen.design.design import Design


def as_made(design: "Design") -> "Design":
    """The design with what its calibration learnt in place of what was asked; causes of others are left out.

    It is drawn like the other: what etching does to the trace's width is left to the coil. What the
    calibration leaves open stands in the place of the tolerances.
    """
    if design.calibration is None:
        return design
    made = design
    for cause, limits in applied(design).items():
        change = _CHANGES.get(cause)
        made = made if change is None else change(made, limits)
    return made.unchecked(calibration=design.calibration.only(applied(design)))


def applied(design: "Design") -> Mapping[Cause, Limits]:
    """What of the calibration holds for this design: causes that were learnt on what it is made of too."""
    learnt = () if design.calibration is None else design.calibration.learnt
    return {
        each.cause: each.limits
        for each in learnt
        if (own := subject(design, each.cause)) is not None and each.of in ("", own)
    }


def calibration_told(design: "Design") -> tuple[str, ...]:
    """That figures are calibrated, and what of the calibration this design does not take, in sentences."""
    calibration = design.calibration
    if calibration is None:
        return ()
    says = f" ({calibration.says})" if calibration.says else ""
    return (
        f"calibrated: figures count with boards made as {calibration.source} tells{says}; "
        "what is drawn and what the fab is asked for stay as they are",
        *_left_out(design, calibration),
    )


def _left_out(design: "Design", calibration: Calibration) -> tuple[str, ...]:
    return tuple(
        f"calibration: {each.cause} was learnt on {each.of}, and this is {own}: it is not taken over"
        for each in calibration.learnt
        if (own := subject(design, each.cause)) is not None and each.of not in ("", own)
    )


def subject(design: "Design", cause: str) -> str | None:
    """What a cause is a fact of in this design, in words; None where there is no such thing."""
    return _SUBJECTS[cause](design)


def _copper(design: "Design") -> str:
    return "copper of " + ", ".join(f"{each * 1e6:.4g} um" for each in design.board.stackup.copper)


def _laminate(design: "Design") -> str:
    return f"{design.board.stackup.material} laminate"


def _soft(design: "Design") -> str | None:
    names = dict.fromkeys(body.material.name for body in soft_bodies(design))
    return ", ".join(sorted(names)) or None


def _conducting(design: "Design") -> str | None:
    plate = design.mounting.base_plate
    names = [*([_soft(design)] if _soft(design) else []), *([plate.material] if plate else [])]
    names += ["magnet"] if design.magnet is not None else []
    return ", ".join(str(name) for name in names) or None


def _magnet(design: "Design") -> str | None:
    magnet = design.magnet
    if magnet is None:
        return None
    return f"magnet {magnet.grade}" if magnet.grade else f"magnet of {magnet.remanences[1]:g} T"


def _air(design: "Design") -> str:
    mounting = design.mounting
    film = "still air" if mounting.forced_convection is None else "moved air"
    return f"{film}, {mounting.orientation}"


def _joints(design: "Design") -> str | None:
    mounting, plate, magnet = design.mounting, design.mounting.base_plate, design.magnet
    given = [core.contact for core in design.core]
    given += [plate.contact] if plate is not None else []
    given += [magnet.contact] if magnet is not None and magnet.contact is not None else []
    own = "told by numbers" if mounting.contact_resistance is not None else mounting.contact
    return ", ".join(sorted({each or own for each in given})) or None


_SUBJECTS: Mapping[str, Callable[["Design"], str | None]] = {
    "trace width": lambda design: f"{design.rules.shop}, {_copper(design)}",
    "copper thickness": _copper,
    "conductivity": lambda design: "copper",
    "plating": lambda design: str(design.rules.shop),
    "dielectric thickness": lambda design: f"stack-up {design.board.stackup.name}",
    "permittivity": _laminate,
    "solder mask": _laminate,
    "metal's permeability": _soft,
    "saturation": _soft,
    "metal's conductivity": _conducting,
    "remanence": _magnet,
    "convection": _air,
    "joints": _joints,
}


def soft_bodies(design: "Design") -> tuple[Core | Target, ...]:
    """Cores and target."""
    return (*design.core, *([] if design.target is None else [design.target]))


def share(limits: Limits) -> float:
    """Of a factor that stands as far below as above."""
    low, _, high = limits
    return math.sqrt(high / low) - 1


def _half(limits: Limits) -> float:
    low, value, high = limits
    return (high - low) / 2 / value


def _etched(design: "Design", limits: Limits) -> "Design":
    """The winding stays as drawn: its coil is `etched` by what `Calibration.wider` tells."""
    return _tolerated(design, trace_width=(limits[2] - limits[0]) / 2)


def _tolerated(design: "Design", **values: object) -> "Design":
    tolerance: Tolerance = design.tolerance.unchecked(**values)
    return design.unchecked(tolerance=tolerance)


def _stacked(design: "Design", **values: object) -> "Design":
    stackup: Stackup = design.board.stackup.unchecked(**values)
    return design.unchecked(board=design.board.unchecked(stackup=stackup))


def _times(values: Iterable[float], factor: float) -> tuple[float, ...]:
    return tuple(each * factor for each in values)


def _thick(design: "Design", limits: Limits) -> "Design":
    made = _stacked(design, copper=_times(design.board.stackup.copper, limits[1]))
    return _tolerated(made, copper_thickness=share(limits))


def _conductive(design: "Design", limits: Limits) -> "Design":
    """As thicker copper: a sheet's currents, alternating ones too, ask for both together alone."""
    return _stacked(design, copper=_times(design.board.stackup.copper, limits[1]))


def _plated(design: "Design", limits: Limits) -> "Design":
    return _tolerated(design, plating=(limits[0], limits[1]))


def _laminated(design: "Design", limits: Limits) -> "Design":
    made = _stacked(design, dielectric=_times(design.board.stackup.dielectric, limits[1]))
    return _tolerated(made, dielectric_thickness=_half(limits))


def _permitted(design: "Design", limits: Limits) -> "Design":
    stackup, factor = design.board.stackup, limits[1]
    made = _stacked(
        design,
        permittivity=_times(stackup.permittivity, factor),
        mask_permittivity=stackup.mask_permittivity * factor,
    )
    return _tolerated(made, permittivity=_half(limits))


def _masked(design: "Design", limits: Limits) -> "Design":
    made = _stacked(design, mask_thickness=design.board.stackup.mask_thickness * limits[1])
    return _tolerated(made, mask_thickness=_half(limits))


def _of_soft(change: Callable[[SoftMaterial, float], SoftMaterial], key: str) -> Any:
    def changed(design: "Design", limits: Limits) -> "Design":
        def other(body: Any) -> Any:
            return body.unchecked(material=change(body.material, limits[1]))

        target = {} if design.target is None else {"target": other(design.target)}
        made = design.unchecked(core=tuple(other(core) for core in design.core), **target)
        return _tolerated(made, **{key: share(limits)})

    return changed


def _permeable(material: SoftMaterial, factor: float) -> SoftMaterial:
    """As strong a magnetisation in a field so many times weaker."""
    if material.permeability is not None:
        return material.unchecked(permeability=max(1.001, material.permeability * factor))
    pairs = zip(material.field_strength, material.flux_density, strict=True)
    return material.unchecked(
        field_strength=_times(material.field_strength, 1 / factor),
        flux_density=tuple(b - MU0 * h + MU0 * h / factor for h, b in pairs),
    )


def _saturable(material: SoftMaterial, factor: float) -> SoftMaterial:
    if material.saturation is not None:
        return material.unchecked(saturation=material.saturation * factor)
    pairs = zip(material.field_strength, material.flux_density, strict=True)
    return material.unchecked(
        field_strength=_times(material.field_strength, factor),
        flux_density=tuple(factor * b for _, b in pairs),
    )


def _magnetised(design: "Design", limits: Limits) -> "Design":
    magnet: Magnet | None = design.magnet
    assert magnet is not None
    strong = magnet.unchecked(remanence=magnet.remanences[1] * limits[1])
    return _tolerated(design.unchecked(magnet=strong), remanence=_half(limits))


_CHANGES: Mapping[str, Callable[["Design", Limits], "Design"]] = {
    "trace width": _etched,
    "copper thickness": _thick,
    "conductivity": _conductive,
    "plating": _plated,
    "dielectric thickness": _laminated,
    "permittivity": _permitted,
    "solder mask": _masked,
    "metal's permeability": _of_soft(_permeable, "permeability"),
    "saturation": _of_soft(_saturable, "saturation"),
    "remanence": _magnetised,
}
"""Those of heat's film and joints, and of the metal's conductivity, are read from the calibration itself."""


def exactly(design: "Design", values: Mapping[str, float]) -> "Design":
    """The design whose figures are those of boards that differ just so from it, SI."""
    return design.unchecked(calibration=Calibration.exactly(values))
