"""Flux that a mover's back plate carries from pole to pole, and whether it saturates."""

from collections.abc import Iterator

from coilgen.design.soft_material import soft_material
from coilgen.figures.mover._magnets import magnets, mover_of
from coilgen.figures.mover._setting import Setting
from coilgen.result.figure import Case

_STEEL = 1.6
"""T: where common steels are well past their knee (common practice, no source)."""


def plate_flux_density(case: Case) -> float:
    """In a back plate midway between two poles, T: half of a pole's flux through its section there."""
    from coilgen.physics.mover.attraction import pole_flux_density

    mover = mover_of(case)
    assert mover.back_plate is not None
    bare, found = magnets(case, Setting(plates=False)), magnets(case)
    end = bare.sheets[0][1] if "top" in mover.faces else bare.sheets[0][0]
    flux = pole_flux_density(found, end) * mover.pole_area
    return flux / 2 / (mover.back_plate.thickness * mover.breadth)


def saturated(case: Case) -> Iterator[str]:
    """What to know of a plate that is too thin for its flux."""
    mover = mover_of(case)
    if mover.back_plate is None:
        return
    carried = plate_flux_density(case)
    most = soft_material(mover.back_plate.material).saturation or _STEEL
    if carried > 0.9 * most:
        thicker = mover.back_plate.thickness * carried / (0.8 * most)
        yield (
            f"The mover's back plate would carry {carried:.2g} T between poles, and its material saturates "
            f"near {most:.2g} T: voltage and torque are less than told. Make it {1e3 * thicker:.2g} mm thick."
        )
