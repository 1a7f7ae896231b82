"""Flux density over a plane through the axis, and where and how far it is large."""

import math

import numpy as np

from coilgen.figures.core._flux_density import flux_density, flux_density_at
from coilgen.figures.core._magnetics import CHORDS, IMPLANT_LEVEL, counted, crest, strand_path
from coilgen.figures.field._laminate import by_laminate
from coilgen.figures.field._varied import varied
from coilgen.physics.base.conductor import Floats
from coilgen.physics.field.biot_savart import path_flux_density
from coilgen.physics.field.plane_field import disc_points, distance_to_level, largest_at
from coilgen.result.caution import WARNING
from coilgen.result.figure import Answer, Case, Quantity, spread_answer
from coilgen.result.spread import Spread, carried
from coilgen.units import in_mm

COLUMNS, ROWS = 61, 41
_WIDER = 1.25


def _map(case: Case) -> Answer:
    points, sizes = _points(case), np.linalg.norm(flux_density_at(case, _points), axis=1)
    return Answer(
        value=[
            {"x": round(float(x), 9), "z": round(float(z), 9), "flux_density": float(f"{size:.5g}")}
            for (x, _, z), size in zip(points, sizes, strict=True)
        ],
        model=f"size of the flux density in the plane {_plane_told(case)}, in a core that of the cell; "
        f"{counted(case)}",
    )


def _plane_told(case: Case) -> str:
    level = case.axis.imag
    return f"y = {in_mm(level)}" if level else "y = 0"


def _points(case: Case) -> Floats:
    x, z = _plane(case)
    across, up = (each.ravel() for each in np.meshgrid(x, z))
    return np.column_stack([across, np.full_like(across, case.axis.imag), up])


def _plane(case: Case) -> tuple[Floats, Floats]:
    """Over the coil, and over the probe heights as far as the coil is large, m."""
    design = case.design
    half = _WIDER * max([2 * case.reach, *(core.size[0] for core in design.core)]) / 2
    reach = min(max(design.probe.heights), 2 * case.reach)
    low, high = design.stand.face("bottom") - reach, design.stand.face("top") + reach
    return np.linspace(-half, half, COLUMNS), np.linspace(low, high, ROWS)


def _across(case: Case, rings: int) -> Floats:
    """Points over the coil as far as a square's corners, (n, 2) m."""
    return disc_points(2 * case.reach / np.sqrt(2.0), rings=rings)


def _peak(case: Case) -> Answer:
    height, points = case.design.probe.heights[0], _beside(case)
    sizes = np.linalg.norm(flux_density_at(case, _beside), axis=1)
    place = int(np.argmax(sizes))
    found, at = float(sizes[place]), (float(points[place, 0]), float(points[place, 1]))
    currents = (case.spread("current"),) if case.design.core else varied(case)
    parts = np.eye(1) if len(currents) == 1 else _parts(case, points[place : place + 1])

    def size(amperes: tuple[float, ...]) -> float:
        return float(np.linalg.norm(np.asarray(amperes) @ parts))

    usual = size(tuple(current.value for current in currents))
    peak = carried(
        lambda share, *amperes: found * share * size(amperes) / usual,
        by_laminate(case, height, at),
        *currents,
    )
    says = (
        f"over the planes {in_mm(height)} from the outermost faces, the first probe height; {counted(case)}"
    )
    return spread_answer(peak, says)


def _parts(case: Case, point: Floats) -> Floats:
    """Each winding's field at a point (1, 3) m, (windings, 3) T per ampere of the first one."""
    return np.vstack([path_flux_density(strand_path(each, CHORDS), point) for each in case.strands_apart])


def _beside(case: Case) -> Floats:
    """Points over both faces at the first probe height, (n, 3) m."""
    height, stand, across = case.design.probe.heights[0], case.design.stand, _across(case, 32)
    planes = (stand.face("top") + height, stand.face("bottom") - height)
    return np.vstack([np.column_stack([across, np.full(len(across), z)]) for z in planes])


def _per_root_watt(case: Case) -> Answer:
    core = bool(case.design.core)
    row = case.value("core_flux_density" if core else "flux_density")[0]
    place = f"{in_mm(row['height'])} above the top{', with the cores' if core else ''}"
    current, field = case.value("current"), abs(row["flux_density"])
    found = carried(
        lambda amperes, watts, share: field * share * amperes / current / watts**0.5,
        case.spread("current"),
        case.spread("power"),
        by_laminate(case, row["height"]),
    )
    return spread_answer(
        found,
        f"size of the field on the axis {place}, over the root of the power while on; rates a coil "
        "whatever its number of turns",
    )


def _distance(case: Case) -> Answer:
    across, stand = _across(case, 12), case.design.stand
    found = 0.0
    for side, outward in (("top", 1.0), ("bottom", -1.0)):
        found = distance_to_level(
            lambda points: flux_density(case, points),
            across,
            face=stand.face(side),
            outward=outward,
            level=IMPLANT_LEVEL / crest(case),
            least=found,
        )
    return spread_answer(
        _with_current(case, found, across),
        f"the farther of both sides, from the outermost face, over the whole coil{_at_crest(case)}; "
        f"{counted(case)}",
        cautions=(_caution(case, found),) if found > 0.0 else (),
    )


def _with_current(case: Case, distance: float, across: Floats) -> Spread:
    """The distance with what current and laminate change, by the field's own fall there."""
    if distance <= 0.0:
        return Spread(distance)
    face, step = case.design.stand.face("top"), 0.02 * distance
    near, far = (
        largest_at(lambda points: flux_density(case, points), across, face + distance + by)
        for by in (-step, step)
    )
    fall = float(np.log(near / far)) / (2 * step)
    usual = case.value("current")
    return carried(
        lambda amperes, share: max(distance + float(np.log(share * amperes / usual)) / fall, 0.0),
        case.spread("current"),
        by_laminate(case, distance),
    )


def _at_crest(case: Case) -> str:
    return ", at the sine's crest" if case.design.drive.waveform == "sine" else ""


def _caution(case: Case, distance: float) -> str:
    changing = "" if case.design.drive.waveform == "dc" else " A changing field may disturb them at less."
    far = in_mm(math.ceil(distance * 1e4) / 1e4)
    return (
        f"{WARNING}The field is over 0.5 mT up to {far} from the coil's faces: keep "
        "pacemakers and other active implants farther away, and say so beside the product (ICNIRP 2009, "
        f"static fields, value from memory).{changing}"
    )


FIGURES = (
    Quantity(
        name="flux_density_map",
        unit="table(x m, z m, flux_density T)",
        says="size of the flux density in a plane through the axis",
        group="field",
        compute=_map,
        of="board",
    ),
    Quantity(
        name="peak_flux_density",
        unit="T",
        says="largest flux density at the first probe height",
        group="field",
        compute=_peak,
        of="board",
    ),
    Quantity(
        name="flux_density_per_root_watt",
        unit="T/W^0.5",
        says="flux density on the axis at the first probe height per root of power",
        group="field",
        compute=_per_root_watt,
    ),
    Quantity(
        name="half_millitesla_distance",
        unit="m",
        says="distance from the faces at which the field has fallen to 0.5 mT",
        group="field",
        compute=_distance,
        of="board",
    ),
)
