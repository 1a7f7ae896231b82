"""Flux density over a plane across the board, and where and how far it is large."""

import math
from functools import partial

import numpy as np

from coilgen.figures.core._flux_density import flux_density, flux_density_at
from coilgen.figures.core._magnetics import IMPLANT_LEVEL, counted, crest
from coilgen.figures.field._laminate import by_laminate
from coilgen.figures.field._over_turns import over_turns
from coilgen.figures.field._paths import CHORDS, strand_path
from coilgen.figures.field._shown import RIM, shown
from coilgen.figures.field._varied import varied
from coilgen.layout.seen import section_level
from coilgen.physics.base.conductor import Floats
from coilgen.physics.field.biot_savart import path_flux_density
from coilgen.physics.field.plane_field import disc_points, distance_to_level, largest_at, summit
from coilgen.result.caution import WARNING
from coilgen.result.figure import Answer, Case, Quantity, spread_answer
from coilgen.result.spread import Spread, carried
from coilgen.units import in_mm

COLUMNS, ROWS = 61, 41
_STEP = 1.0 / 16.0
"""Of a winding's size: how far from a place a larger field is looked for first."""
_SMOOTH = 0.5
"""Of it: farther off the field varies so little across that the few points tell the largest."""
_EVERY = 2
"""Every so many of the lines across the turns, and of the points on each, tell where a field falls under a
level: farther off it varies less."""


def _map(case: Case) -> Answer:
    points, sizes = _points(case), np.linalg.norm(flux_density_at(case, _points, brisk=True), axis=1)
    return Answer(
        value=[
            {"x": round(float(x), 9), "z": round(float(z), 9), "flux_density": float(f"{size:.5g}")}
            for (x, _, z), size in zip(points, sizes, strict=True)
        ],
        model=f"size of the flux density in the plane y = {in_mm(section_level(case.design))}, in a core "
        f"that of the cell; {counted(case)}",
    )


def _points(case: Case) -> Floats:
    x, z = _plane(case)
    across, up = (each.ravel() for each in np.meshgrid(x, z))
    return np.column_stack([across, np.full_like(across, section_level(case.design)), up])


def _plane(case: Case) -> tuple[Floats, Floats]:
    """Over what the map shows, and over the probe heights as far as the coil is large, m."""
    design, (middle, half) = case.design, shown(case)
    reach = min(max(design.probe.heights), 2 * case.reach)
    low, high = design.stand.face("bottom") - reach, design.stand.face("top") + reach
    across = middle.real + RIM * half.real * np.linspace(-1.0, 1.0, COLUMNS)
    return across, np.linspace(low, high, ROWS)


def _peak(case: Case) -> Answer:
    height, (place, found) = case.design.probe.heights[0], _summit(case)
    currents = (case.spread("current"),) if case.design.core else varied(case)
    parts = np.eye(1) if len(currents) == 1 else _parts(case, place[None])

    def size(amperes: tuple[float, ...]) -> float:
        return float(np.linalg.norm(np.asarray(amperes) @ parts))

    usual = size(tuple(current.value for current in currents))
    peak = carried(
        lambda share, *amperes: found * share * size(amperes) / usual,
        by_laminate(case, height, (float(place[0]), float(place[1]))),
        *currents,
    )
    says = (
        f"over the planes {in_mm(height)} from the outermost faces, the first probe height; {counted(case)}"
    )
    return spread_answer(peak, says)


def _summit(case: Case) -> tuple[Floats, float]:
    """Where the field of both planes is largest, (3,) m, and how large, T."""
    lines = _on_both_faces(case)
    sizes = np.linalg.norm(flux_density_at(case, _beside, brisk=True), axis=1).reshape(lines.shape[:2])
    return summit(partial(_sizes, case), lines, sizes, _STEP * _size(case))


def _sizes(case: Case, points: Floats) -> Floats:
    """|B| (n,) T at points (n, 3) m."""
    return np.asarray(np.linalg.norm(flux_density(case, points), axis=1))


def _parts(case: Case, point: Floats) -> Floats:
    """Each winding's field at a point (1, 3) m, (windings, 3) T per ampere of the first one."""
    return np.vstack([path_flux_density(strand_path(each, CHORDS), point) for each in case.strands_apart])


def _on_both_faces(case: Case) -> Floats:
    """Lines across the turns at the first probe height from either face, (lines, n, 3) m."""
    height, stand, across = case.design.probe.heights[0], case.design.stand, over_turns(case)
    planes = (stand.face("top") + height, stand.face("bottom") - height)
    return np.concatenate([np.insert(across, 2, z, axis=2) for z in planes])


def _beside(case: Case) -> Floats:
    return _on_both_faces(case).reshape(-1, 3)


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
    lines = over_turns(case)[::_EVERY, ::_EVERY]
    across = np.vstack([lines.reshape(-1, 2), *([_between(lines)] if case.windings else [])])
    found = 0.0
    for side, outward in (("top", 1.0), ("bottom", -1.0)):
        found = _on_side(case, lines, across, case.design.stand.face(side), outward, found)
    return spread_answer(
        _with_current(case, found, across),
        f"the farther of both sides, from the outermost face, over the whole coil{_at_crest(case)}; "
        f"{counted(case)}",
        cautions=(_caution(case, found),) if found > 0.0 else (),
    )


def _between(lines: Floats) -> Floats:
    """Points over what lies between several windings, (n, 2) m: far off their field is largest there."""
    low, high = lines.min(axis=(0, 1)), lines.max(axis=(0, 1))
    return np.asarray(0.5 * (low + high) + disc_points(0.5 * float(np.hypot(*(high - low))), rings=6))


def _on_side(case: Case, lines: Floats, across: Floats, face: float, outward: float, least: float) -> float:
    """The distance on one side: over a few points, then with the largest place of where that ends."""
    field, level = partial(flux_density, case), IMPLANT_LEVEL / crest(case)
    found = distance_to_level(field, across, face=face, outward=outward, level=level, least=least)
    if found > _SMOOTH * _size(case):
        return found
    plane = np.insert(lines, 2, face + outward * found, axis=2)
    sizes = _sizes(case, plane.reshape(-1, 3)).reshape(plane.shape[:2])
    place, _ = summit(partial(_sizes, case), plane, sizes, _STEP * _size(case))
    more = np.vstack([across, place[:2]])
    return distance_to_level(field, more, face=face, outward=outward, level=level, least=found)


def _size(case: Case) -> float:
    """How far the copper of the largest winding reaches from its middle, m."""
    return max((each.case.reach for each in case.windings), default=case.reach)


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
        says="size of the flux density in a plane from west to east, through the middle of windings",
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
