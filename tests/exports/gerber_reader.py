"""An exact, strict reader of Gerber X2 files: strokes of round tools, round and oblong pads, regions. Metres.

Anything it does not know is an error, so that a file it reads holds nothing but what is reported here.
"""

import cmath
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass, field

NANOMETRE = 1e-9

_COMMAND = re.compile(r"%([^%]*)\*%|([^%*]*)\*")
_OPERATION = re.compile(r"(?:X(-?\d+))?(?:Y(-?\d+))?(?:I(-?\d+))?(?:J(-?\d+))?D0([123])")
_APERTURE = re.compile(r"ADD(\d+)C,(\d+\.?\d*)")
_OBLONG = re.compile(r"ADD(\d+)O,(\d+\.?\d*)X(\d+\.?\d*)")
_FORMAT = re.compile(r"FSLAX([3-6])6Y([3-6])6")


@dataclass(frozen=True, kw_only=True)
class Draw:
    """A stroke of a round tool, m: straight, or an arc about `centre`."""

    start: complex
    end: complex
    centre: complex | None
    clockwise: bool
    width: float
    function: str
    net: str

    @property
    def radius(self) -> float:
        """Mean distance of both ends to the centre."""
        return (abs(self.start - self.centre) + abs(self.end - self.centre)) / 2

    @property
    def sweep(self) -> float:
        """Signed angle of an arc, in multi-quadrant mode: never 0, at most a full turn."""
        turned = cmath.phase((self.end - self.centre) / (self.start - self.centre))
        if self.clockwise:
            return turned if turned < 0 else turned - 2 * math.pi
        return turned if turned > 0 else turned + 2 * math.pi

    @property
    def length(self) -> float:
        return abs(self.end - self.start) if self.centre is None else self.radius * abs(self.sweep)


@dataclass(frozen=True, kw_only=True)
class Flash:
    """A pad or opening, m; pin is (reference, number) or None. span: of an oblong one, between round ends."""

    at: complex
    diameter: float
    function: str
    net: str
    pin: tuple[str, str] | None
    span: complex = 0j


@dataclass(kw_only=True)
class Image:
    """What one file says."""

    attributes: dict[str, str] = field(default_factory=dict)
    apertures: dict[str, tuple[float, str]] = field(default_factory=dict)
    oblong: dict[str, complex] = field(default_factory=dict)
    draws: list[Draw] = field(default_factory=list)
    regions: list[list[Draw]] = field(default_factory=list)
    flashes: list[Flash] = field(default_factory=list)


def stroke_length(image: Image) -> float:
    """Length of all draws, m."""
    return sum(draw.length for draw in image.draws)


def chains(image: Image) -> list[list[Draw]]:
    """Draws of one tool, each of which begins exactly where the one before ended."""
    found: list[list[Draw]] = []
    for draw in image.draws:
        if found and found[-1][-1].end == draw.start and found[-1][-1].width == draw.width:
            found[-1].append(draw)
        else:
            found.append([draw])
    return found


def dark_area(image: Image, tolerance: float = 1e-7):
    """Everything drawn and flashed as one shapely geometry in metres, round to within the tolerance."""
    import shapely

    strokes = [_stroke(chain, tolerance) for chain in chains(image)]
    pads = [_pad(flash) for flash in image.flashes]
    return shapely.union_all([*strokes, *pads, *(_inside(region, tolerance) for region in image.regions)])


def _pad(flash: Flash):
    import shapely

    if not flash.span:
        return shapely.Point(flash.at.real, flash.at.imag).buffer(flash.diameter / 2, 64)
    ends = [flash.at - flash.span / 2, flash.at + flash.span / 2]
    return shapely.LineString([(end.real, end.imag) for end in ends]).buffer(flash.diameter / 2, 64)


def _inside(region: list[Draw], tolerance: float):
    import shapely

    points = [point for draw in region for point in chords(draw, tolerance)]
    return shapely.Polygon([(point.real, point.imag) for point in points])


def read(content: bytes) -> Image:
    """The image of a file; ValueError for anything this reader does not know."""
    text = content.decode("ascii")
    if not text.endswith("M02*\n"):
        raise ValueError("the file does not end in M02 and a new line")
    state = _State()
    for command in _commands(text):
        state.obey(command)
    return state.image


def _stroke(chain: list[Draw], tolerance: float):
    import shapely

    points = [chain[0].start, *(point for draw in chain for point in chords(draw, tolerance))]
    line = shapely.LineString([(point.real, point.imag) for point in points])
    return line.buffer(chain[0].width / 2, quad_segs=64)


def chords(draw: Draw, tolerance: float) -> Iterator[complex]:
    """Points along a draw, its start left out; no chord strays more than the tolerance, m, from an arc."""
    if draw.centre is not None:
        step = 2 * math.acos(max(0.5, 1 - tolerance / draw.radius))
        count = math.ceil(abs(draw.sweep) / step)
        for number in range(1, count):
            yield draw.centre + (draw.start - draw.centre) * cmath.rect(1, draw.sweep * number / count)
    yield draw.end


def _commands(text: str) -> Iterator[str]:
    for line in text.splitlines():
        found = _COMMAND.fullmatch(line)
        if found is None:
            raise ValueError(f"not one whole command: {line!r}")
        yield found[1] if found[1] is not None else found[2]


class _State:
    def __init__(self) -> None:
        self.image = Image()
        self.settings: set[str] = set()
        self.aperture_function = ""
        self.object_attributes: dict[str, str] = {}
        self.aperture: tuple[float, str] | None = None
        self.span = 0j
        self.region: list[Draw] | None = None
        self.mode = ""
        self.point: complex | None = None
        self.ended = False

    def obey(self, command: str) -> None:
        if self.ended:
            raise ValueError(f"{command!r} after the end")
        if command.startswith("G04"):
            return
        if command[:2] in {"TF", "TA", "TO", "TD"}:
            self.attribute(command)
        elif _FORMAT.fullmatch(command) or command in {"MOMM", "G75", "LPD"}:
            self.settings.add(command if command == "G75" else command[:2])
        elif found := _APERTURE.fullmatch(command):
            self.define(found[1], float(found[2]) * 1e-3)
        elif found := _OBLONG.fullmatch(command):
            self.define_oblong(found[1], float(found[2]) * 1e-3, float(found[3]) * 1e-3)
        elif command == "G36":
            self.begin()
        elif command == "G37":
            self.close()
        elif command in {"G01", "G02", "G03"}:
            self.mode = command
        elif re.fullmatch(r"D[1-9]\d+", command):
            self.aperture = self.image.apertures[command[1:]]
            self.span = self.image.oblong.get(command[1:], 0j)
        elif found := _OPERATION.fullmatch(command):
            self.operate(*found.groups())
        elif command == "M02":
            self.ended = True
        else:
            raise ValueError(f"unknown command {command!r}")

    def define(self, number: str, diameter: float) -> None:
        if number in self.image.apertures or int(number) < 10:
            raise ValueError(f"aperture {number} cannot be defined")
        self.image.apertures[number] = (diameter, self.aperture_function)

    def define_oblong(self, number: str, across: float, up: float) -> None:
        least = min(across, up)
        self.define(number, least)
        self.image.oblong[number] = complex(across - least, up - least)

    def begin(self) -> None:
        if self.region is not None:
            raise ValueError("a region in a region")
        self.region = []

    def close(self) -> None:
        """One closed contour a region."""
        if not self.region or abs(self.region[-1].end - self.region[0].start) > 0:
            raise ValueError("a region that is not closed")
        self.image.regions.append(self.region)
        self.region = None

    def attribute(self, command: str) -> None:
        kind, (name, _, value) = command[:2], command[2:].partition(",")
        if kind == "TF":
            if name in self.image.attributes:
                raise ValueError(f"the file attribute {name} is set twice")
            self.image.attributes[name] = value
        elif (kind, name) == ("TA", ".AperFunction"):
            self.aperture_function = value
        elif kind == "TO" and name in {".N", ".P"}:
            self.object_attributes[name] = value
        elif kind == "TD" and name in {"", ".N", ".P", ".AperFunction"}:
            self.delete(name)
        else:
            raise ValueError(f"unknown attribute {command!r}")

    def delete(self, name: str) -> None:
        if name in {"", ".AperFunction"}:
            self.aperture_function = ""
        for known in (".N", ".P"):
            if name in {"", known}:
                self.object_attributes.pop(known, None)

    def operate(self, x: str | None, y: str | None, i: str | None, j: str | None, kind: str) -> None:
        if not {"FS", "MO"} <= self.settings:
            raise ValueError("coordinates before format and unit")
        here = self.point
        across = here.real if x is None else int(x) * NANOMETRE
        up = here.imag if y is None else int(y) * NANOMETRE
        self.point = complex(across, up)
        if kind == "1":
            self.draw(here, i, j)
        elif kind == "3":
            self.flash()

    def draw(self, start: complex | None, i: str | None, j: str | None) -> None:
        inside = self.region is not None
        if start is None or not (self.aperture or inside) or not self.mode:
            raise ValueError("a draw without a start, an aperture or a mode")
        curved = self.mode != "G01"
        if curved and ("G75" not in self.settings or (i, j) == (None, None)):
            raise ValueError("an arc without G75 or without a centre")
        width, function = (0.0, self.aperture_function) if inside else self.aperture
        (self.image.draws if self.region is None else self.region).append(
            Draw(
                start=start,
                end=self.point,
                centre=start + complex(int(i or 0), int(j or 0)) * NANOMETRE if curved else None,
                clockwise=self.mode == "G02",
                width=width,
                function=function,
                net=self.object_attributes.get(".N", ""),
            )
        )

    def flash(self) -> None:
        if self.aperture is None or self.region is not None:
            raise ValueError("a flash without an aperture, or in a region")
        pin = self.object_attributes.get(".P")
        self.image.flashes.append(
            Flash(
                at=self.point,
                diameter=self.aperture[0],
                function=self.aperture[1],
                net=self.object_attributes.get(".N", ""),
                pin=None if pin is None else tuple(pin.split(",")),
                span=self.span,
            )
        )
