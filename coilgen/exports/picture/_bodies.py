"""Cores, magnet, target and base plate of a design as drawings show them: outlines, heights, words."""

from collections.abc import Iterator
from dataclasses import replace

from coilgen.design.bodies import Body, Core, Magnet, Target
from coilgen.design.design import Design
from coilgen.design.mounting import BasePlate
from coilgen.design.soft_material import written
from coilgen.design.stacking import Standing
from coilgen.frozen import dataclass
from coilgen.geometry.closed import circle, rectangle
from coilgen.geometry.isometry import Isometry
from coilgen.geometry.line import Line
from coilgen.geometry.path import Path, Segment
from coilgen.geometry.point import Point
from coilgen.units import in_mm


@dataclass(frozen=True, kw_only=True)
class Shown:
    """A body in a drawing: kind for its colours, short name, what it is made of, its measures in words.

    outline, hole: seen from the top. standing: heights of its faces, m. pole: of a magnet, else empty.
    repeated: one of many alike, in the coils of an array. named: whether its name stands beside it; of a
    mover's magnets that in the east has one.
    """

    kind: str
    name: str
    material: str
    measures: str
    outline: Path
    hole: Path | None
    standing: Standing
    pole: str = ""
    inside: bool = False
    repeated: bool = False
    named: bool = True


def bodies(design: Design) -> tuple[Shown, ...]:
    """All bodies that stand at the coil: cores in their order, base plate, magnet, target."""
    return (*_cores(design), *_base_plates(design), *_magnets(design), *_targets(design))


def _cores(design: Design) -> Iterator[Shown]:
    """Of those that repeat in the coils of an array none bears its name: the drawing tells of all."""
    for each in design.stand.bodies:
        core, lies = each.core, Isometry.placed(each.turn, each.centre)
        yield Shown(
            kind="core",
            name="core" if len(design.core) == 1 else f"core {each.number}",
            material=written(core.material),
            measures=f"{_size(core)}, {_stance(core)}",
            outline=_outline(core, 0j).moved(lies),
            hole=circle(core.hole).moved(lies) if core.hole else None,
            standing=each.standing,
            inside=core.place == "pocket",
            repeated=core.place == "pocket" and len(design.stand.pockets) > 1,
        )


def _stance(core: Core) -> str:
    if core.place != "pocket":
        return f"gap {in_mm(core.gap or 0.0)}"
    return f"rises {in_mm(core.rise)}" if core.rise else "flush with the top"


def _base_plates(design: Design) -> Iterator[Shown]:
    plate = design.mounting.base_plate
    if plate is not None:
        thickness, face = plate.thickness, design.stand.bare(plate.place)
        top = plate.place == "top"
        yield Shown(
            kind="base-plate",
            name="base plate",
            material=plate.material,
            measures=_plate_size(plate),
            outline=circle(plate.diameter) if plate.diameter else _rectangle(plate.width, plate.depth, 0j),
            hole=None,
            standing=Standing(bottom=face, top=face + thickness)
            if top
            else Standing(bottom=face - thickness, top=face),
        )


def _plate_size(plate: BasePlate) -> str:
    if plate.diameter:
        return f"disc {in_mm(plate.diameter)} across, {in_mm(plate.thickness)} thick"
    return f"{_by(plate.width or 0.0, plate.depth or 0.0)}, {in_mm(plate.thickness)} thick"


def _magnets(design: Design) -> Iterator[Shown]:
    magnet = design.magnet
    if magnet is not None:
        made = magnet.grade or f"remanence {1e3 * magnet.remanences[1]:.4g} mT"
        yield replace(_apart(magnet, design), kind="magnet", material=made, pole=magnet.pole)


def _targets(design: Design) -> Iterator[Shown]:
    if design.target is not None:
        yield _apart(design.target, design)


def _apart(body: Magnet | Target, design: Design) -> Shown:
    """A body that stands by itself, at its gap and offset."""
    at = complex(*body.offset)
    offset = f", {_offset(at)}" if at else ""
    return Shown(
        kind="target",
        name="magnet" if isinstance(body, Magnet) else "target",
        material=written(body.material) if isinstance(body, Target) else "",
        measures=f"{_size(body)}, gap {in_mm(body.gap)}{offset}",
        outline=_outline(body, at),
        hole=_shifted(circle(body.hole), at) if body.hole else None,
        standing=design.stand.of(body),
    )


def _offset(by: Point) -> str:
    """Where a body stands from the coil's centre.

    >>> _offset(3e-3 + 0j), _offset(-3e-3 - 1e-3j)
    ('3 mm east', '3 mm west and 1 mm south')
    """
    parts = ((by.real, "east", "west"), (by.imag, "north", "south"))
    ways = ((abs(far), ahead if far > 0 else back) for far, ahead, back in parts if far)
    return " and ".join(f"{in_mm(far)} {way}" for far, way in ways)


def _outline(body: Body, at: Point) -> Path:
    if body.diameter is not None:
        return _shifted(circle(body.diameter), at)
    return _rectangle(body.width, body.depth, at)


def _rectangle(width: float | None, depth: float | None, at: Point) -> Path:
    return _shifted(rectangle(width or 0.0, depth or 0.0), at)


def _shifted(path: Path, by: Point) -> Path:
    return Path(tuple(_shifted_segment(segment, by) for segment in path.segments))


def _shifted_segment(segment: Segment, by: Point) -> Segment:
    if isinstance(segment, Line):
        return Line(segment.start + by, segment.end + by)
    return replace(segment, centre=segment.centre + by)


def _size(body: Body) -> str:
    """Form, measures and thickness of a body.

    >>> ring = {"form": "ring", "diameter": 8, "hole_diameter": 3, "thickness": 1, "gap": 2}
    >>> _size(Target.model_validate(ring))
    'ring 8 mm across, hole 3 mm, 1 mm thick'
    """
    hole = f", hole {in_mm(body.hole)}" if body.hole else ""
    over = _by(*body.size) if body.diameter is None else f"{in_mm(body.size[0])} across"
    thick = "long" if body.form == "rod" else "thick"
    return f"{body.form} {over}{hole}, {in_mm(body.thickness)} {thick}"


def _by(width: float, depth: float) -> str:
    return f"{in_mm(width).removesuffix(' mm')} × {in_mm(depth)}"
