"""A board as its Gerber and drill files describe it, read by readers that are not the program's. Metres.

Files are told apart by their function attributes, not by their names.
"""

import re
import sys
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path

import shapely

sys.path.append(str(Path(__file__).resolve().parent.parent / "exports"))

import gerber_reader
from gerber_reader import Draw, Flash, Image

FUNCTION = re.compile(r"; #@! TF\.FileFunction,(.*)")
TOOL = re.compile(r"T(\d+)C(\d+\.\d+)")
HIT = re.compile(r"X(-?\d+\.\d+)Y(-?\d+\.\d+)")


@dataclass(frozen=True, kw_only=True)
class Hole:
    """A drilled hole, m."""

    at: complex
    diameter: float
    plated: bool

    @cached_property
    def disc(self) -> shapely.Polygon:
        return disc(self.at, self.diameter)


@dataclass(frozen=True)
class Sheet:
    """One Gerber file and what it inks."""

    image: Image

    @cached_property
    def ink(self) -> shapely.Geometry:
        return gerber_reader.dark_area(self.image)

    @cached_property
    def parts(self) -> list[shapely.Polygon]:
        """Pieces of ink that do not touch."""
        return list(shapely.get_parts(self.ink))

    @property
    def flashes(self) -> list[Flash]:
        return self.image.flashes

    @cached_property
    def chains(self) -> list[list[Draw]]:
        return gerber_reader.chains(self.image)


@dataclass(kw_only=True)
class Board:
    """copper: by layer from the top. masks: by side. loops: of the profile, the largest first.

    flexing: stiffeners and bends.
    """

    copper: dict[int, Sheet] = field(default_factory=dict)
    masks: dict[str, Sheet] = field(default_factory=dict)
    legends: dict[str, Sheet] = field(default_factory=dict)
    profile: Sheet = field(default_factory=lambda: Sheet(Image()))
    flexing: list[Sheet] = field(default_factory=list)
    holes: list[Hole] = field(default_factory=list)

    @cached_property
    def loops(self) -> list[shapely.Polygon]:
        areas = [shapely.Polygon(vertices(chain)) for chain in self.profile.chains if len(chain) > 1]
        return sorted(areas, key=lambda area: -area.area)

    def side(self, layer: int) -> str | None:
        """The face that a copper layer lies on."""
        return "top" if layer == 1 else "bottom" if layer == len(self.copper) else None


def read_board(files: Mapping[str, bytes]) -> Board:
    """The board in a result's files; ValueError for a file that says anything unknown."""
    board = Board()
    for path, content in files.items():
        if path.endswith(".gbr"):
            _place(board, gerber_reader.read(content))
        elif path.endswith(".drl"):
            board.holes += _holes(content.decode("ascii"))
    return board


def without(board: Board, places: Sequence[complex]) -> Board:
    """The board without holes at places, m, and the rings of no net about them; without idle fingers too."""

    def there(at: complex) -> bool:
        return any(abs(at - place) < 2e-9 for place in places)

    copper = {
        layer: Sheet(
            replace(
                sheet.image,
                flashes=[each for each in sheet.flashes if each.net or not (each.span or there(each.at))],
            )
        )
        for layer, sheet in board.copper.items()
    }
    holes = [hole for hole in board.holes if not there(hole.at)]
    return replace(board, copper=copper, holes=holes)


def _place(board: Board, image: Image) -> None:
    function = image.attributes[".FileFunction"].split(",")
    sheet, side = Sheet(image), "top" if function[-1].endswith("Top") else "bottom"
    if function[0] == "Copper":
        board.copper[int(function[1].removeprefix("L"))] = sheet
    elif function[0] == "Legend":
        board.legends[side] = sheet
    elif function[0] == "Profile":
        board.profile = sheet
    elif function[1].startswith(("Stiffener", "Bend")):
        board.flexing.append(sheet)
    elif function[0] == "Soldermask" or function[1].startswith("Coverlay"):
        board.masks[side] = sheet
    else:
        raise ValueError(f"unknown file function {function}")


def _holes(text: str) -> Iterator[Hole]:
    found = FUNCTION.search(text)
    if found is None or not text.startswith("M48\n") or not text.endswith("\nM30\n"):
        raise ValueError("no whole drill file")
    plated, tools, tool = found[1].startswith("Plated"), {}, 0.0
    for line in text.splitlines():
        if defined := TOOL.fullmatch(line):
            tools[defined[1]] = float(defined[2]) * 1e-3
        elif line[1:] in tools and line[0] == "T":
            tool = tools[line[1:]]
        elif hit := HIT.fullmatch(line):
            yield Hole(at=complex(float(hit[1]), float(hit[2])) * 1e-3, diameter=tool, plated=plated)


def middle(pad: Flash) -> shapely.Geometry:
    """The centre of a round pad, or the line between the round ends of an oblong one."""
    ends = [pad.at - pad.span / 2, pad.at + pad.span / 2]
    return (
        shapely.LineString([(end.real, end.imag) for end in ends])
        if pad.span
        else shapely.Point(pad.at.real, pad.at.imag)
    )


def disc(at: complex, diameter: float) -> shapely.Polygon:
    """A round pad, hole or opening, within a ten thousandth of its size."""
    return shapely.Point(at.real, at.imag).buffer(diameter / 2, quad_segs=48)


def vertices(chain: list[Draw]) -> list[tuple[float, float]]:
    """Points along draws, arcs within 0.1 um."""
    points = [chain[0].start]
    for draw in chain:
        points += gerber_reader.chords(draw, 1e-7)
    return [(point.real, point.imag) for point in points]
