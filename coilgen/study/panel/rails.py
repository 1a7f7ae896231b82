"""The frame's rails: marks to align and hold by, and what is put in their cells, row by row."""

import textwrap
from collections.abc import Iterable, Iterator, Sequence

from coilgen.artwork.art import NO_NET, Hole, Opening, Pad, Stroke
from coilgen.artwork.legend import LINE_WIDTH
from coilgen.design.paneling import fact
from coilgen.frozen import dataclass
from coilgen.geometry.lettering import lettering, printable, text_width
from coilgen.geometry.point import Point

Cell = tuple[float, float]
"""From and to along a rail, m, clear of scores across it."""

KEY_HEIGHT = 1.0e-3
"""Of the key's letters; common practice, no source."""
LINE_PITCH = 1.8e-3
SPACE = 2.0e-3
"""Between an entry of the key and the next."""
MARGIN = 1.0e-3
"""Of what stands in a cell, to its ends and to its neighbours."""


@dataclass(frozen=True, kw_only=True)
class Stood:
    """Where items of a rail stand: lower left corners from the rail's lower edge, in order; its height."""

    corners: tuple[Point, ...]
    height: float


def stand(sizes: Sequence[Point], cells: Sequence[Cell]) -> Stood | None:
    """Items side by side in the cells, row under row; None where one is too wide for all cells."""
    corners: list[Point] = []
    floor, height, cell = 0.0, 0.0, 0
    at = cells[0][0] + MARGIN
    for size in sizes:
        if all(end - start < size.real + 2 * MARGIN - 1e-9 for start, end in cells):
            return None
        while at + size.real + MARGIN > cells[cell][1] + 1e-9:
            cell += 1
            if cell == len(cells):
                cell, floor, height = 0, floor + height + MARGIN, 0.0
            at = cells[cell][0] + MARGIN
        corners.append(complex(_whole(at), _whole(floor)))
        at += size.real + MARGIN
        height = max(height, size.imag)
    whole = floor + height + MARGIN if sizes else 0.0
    downward = zip(corners, sizes, strict=True)
    return Stood(
        corners=tuple(
            complex(corner.real, _whole(whole - MARGIN - corner.imag - size.imag))
            for corner, size in downward
        ),
        height=whole,
    )


def _whole(length: float) -> float:
    return round(length * 1e6) / 1e6


def key_blocks(entries: Iterable[str], cell: Cell) -> list[list[str]]:
    """Each entry of the key in lines that fit a cell."""
    pitch = text_width("AB", KEY_HEIGHT) - text_width("A", KEY_HEIGHT)
    letters = int((cell[1] - cell[0] - 2 * MARGIN - SPACE) / pitch)
    return [
        textwrap.wrap(printable(entry), max(letters, 4), subsequent_indent="  ") or [""] for entry in entries
    ]


def block_size(lines: Sequence[str]) -> Point:
    """Width and height of lines of the key, m, with the space after them."""
    return complex(max(text_width(line, KEY_HEIGHT) for line in lines) + SPACE, LINE_PITCH * len(lines))


def block(lines: Sequence[str], corner: Point) -> Iterator[Stroke]:
    """Printed lines whose lower left corner is at a place."""
    for number, line in enumerate(lines):
        middle = complex(text_width(line, KEY_HEIGHT) / 2, (len(lines) - number - 0.5) * LINE_PITCH)
        for path in lettering(line, KEY_HEIGHT, corner + middle):
            yield Stroke(path=path, width=LINE_WIDTH)


def tooling_holes(size: Point, frame: float) -> tuple[Hole, ...]:
    """In the corners of a panel."""
    edge = min(fact("tooling_hole", "from_edge"), frame / 2)
    return tuple(
        Hole(
            at=complex(x, y),
            diameter=fact("tooling_hole", "diameter"),
            plated=False,
            terminal=None,
            net=NO_NET,
        )
        for x in (edge, size.real - edge)
        for y in (edge, size.imag - edge)
    )


def fiducials(size: Point, frame: float, cells: Sequence[Cell]) -> tuple[Point, ...]:
    """Lower left, upper left, lower right: a turned or mirrored panel does not look alike."""
    edge, inside = min(fact("tooling_hole", "from_edge"), frame / 2), fact("fiducial", "from_cell")
    left, right = cells[0][0] + inside, cells[-1][1] - inside
    return complex(left, edge), complex(left, size.imag - edge), complex(right, edge)


def fiducial_pads(at: Iterable[Point], copper_layers: int) -> tuple[Pad, ...]:
    """On the outer layers."""
    return tuple(
        Pad(
            layer=layer,
            at=each,
            diameter=fact("fiducial", "diameter"),
            terminal=None,
            net=NO_NET,
            use="fiducial",
        )
        for each in at
        for layer in sorted({1, copper_layers})
    )


def fiducial_openings(at: Iterable[Point], faces: Sequence[str]) -> tuple[Opening, ...]:
    """In mask or coverlay."""
    return tuple(
        Opening(side=side, at=each, diameter=fact("fiducial", "opening")) for each in at for side in faces
    )
