"""What metal cores and targets do to a changing flux, told as cautions."""

from coilgen.design.soft_material import SoftMaterial, written
from coilgen.result.figure import Case
from coilgen.units import readable

FERRITE = 1e-2
"""ohm m: from this resistivity on eddy currents in a core are left unsaid."""
METER = 1e3
"""Hz, usual frequency of an inductance meter."""


def eddy_cautions(case: Case) -> tuple[str, ...]:
    """How deep a changing flux goes into each metal that stands at the coil as a core or a target."""
    target = case.design.target
    bodies = (*case.design.core, *(() if target is None else (target,)))
    metals = {written(body.material): body.material for body in bodies}
    frequency = case.design.drive.frequency or METER
    return tuple(
        f"The inductance with cores or a target is a static figure. In {_named(name)} eddy currents hold the "
        f"flux within {readable(_skin_depth(material, frequency), 'm', 2)} of its surface at "
        f"{readable(frequency, 'Hz', 2)} (skin depth): a meter at such frequencies reads less, and so does "
        "a drive that switches fast."
        for name, material in metals.items()
        if material.resistivity < FERRITE
    )


def _named(written: str) -> str:
    """A material's word within a sentence: of a table of the user's own what it is like, if anything."""
    if written == "custom":
        return "a material of your own"
    return f"a material {written}" if written.startswith("like ") else written


def _skin_depth(material: SoftMaterial, frequency: float) -> float:
    """m, in a plane conductor with its permeability in weak fields."""
    from coilgen.physics.eddy.current import skin_depth

    return skin_depth(material.resistivity / material.curve.permeability, frequency)
