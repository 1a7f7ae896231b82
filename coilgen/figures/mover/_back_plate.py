"""Flux that iron plates carry from pole to pole, the mover's and the stator's, and whether they saturate."""

from collections.abc import Iterator

from coilgen.design.soft_material import SoftMaterial, soft_material
from coilgen.figures.mover._magnets import magnets, mover_of, plate_faces, stator_plates
from coilgen.figures.mover._setting import Setting
from coilgen.result.figure import Case

_STEEL = 1.6
"""T: where common steels are well past their knee (common practice, no source)."""
_THIN = 0.9
"""Of the saturation, from which on a plate is told to be too thin."""


def plate_flux_density(case: Case, height: float, thickness: float) -> float:
    """In a plate midway between two poles, T: half of a pole's flux at a height, m, through its section."""
    from coilgen.physics.mover.attraction import pole_flux_density

    mover = mover_of(case)
    flux = abs(pole_flux_density(magnets(case), height)) * mover.pole_area
    return flux / 2 / (thickness * mover.breadth)


def saturated(case: Case) -> Iterator[str]:
    """What to know of plates that are too thin for their flux."""
    mover = mover_of(case)
    if mover.back_plate is not None:
        bare = magnets(case, Setting(plates=False)).sheets
        end = bare[0][1] if "top" in mover.faces else bare[0][0]
        thickness, material = mover.back_plate.thickness, soft_material(mover.back_plate.material)
        yield from _too_thin(case, "mover's back plate", end, thickness, material)
    below, above = plate_faces(case)
    for plate in stator_plates(case)[:1]:
        face = below if plate.place == "bottom" else above
        assert face is not None
        yield from _too_thin(case, "stator's plate", face, plate.thickness, plate.material)


def _too_thin(
    case: Case, name: str, height: float, thickness: float, material: SoftMaterial
) -> Iterator[str]:
    carried = plate_flux_density(case, height, thickness)
    most = material.saturation or _STEEL
    if carried > _THIN * most:
        thicker = thickness * carried / (0.8 * most)
        yield (
            f"The {name} would carry {carried:.2g} T between poles, and its material saturates "
            f"near {most:.2g} T: voltage and torque are less than told. Make it {1e3 * thicker:.2g} mm thick."
        )
