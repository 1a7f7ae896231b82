"""What a drawing says beside the art: dimensions, scale bar, marks of findings."""

from collections.abc import Sequence

from coilgen.exports.picture._free_place import Box, freest
from coilgen.exports.picture._svg import (
    INK,
    Element,
    add,
    add_centred,
    add_disc,
    add_line,
    add_text,
    number,
    text_width,
)
from coilgen.geometry.point import Point
from coilgen.result.rule import Finding
from coilgen.units import in_mm

HAIRLINE = 0.07
"""Of the letters' size: width of dimension lines."""

SCALE_BARS = (50e-3, 20e-3, 10e-3, 5e-3, 2e-3, 1e-3, 0.5e-3)


def add_dimension(
    parent: Element,
    start: Point,
    end: Point,
    label: str,
    size: float,
    feet: tuple[Point, Point] | None = None,
) -> None:
    """An upright or level dimension line with arrowheads, its label in the middle.

    feet: where the extension lines begin, on what is measured. Letters of `size`, m.
    """
    line = add(parent, "g", class_="dimension")
    along = (end - start) / abs(end - start)
    for tip, foot, inward in zip((start, end), feet or (start, end), (along, -along), strict=True):
        if foot != tip:
            beyond = (tip - foot) / abs(tip - foot) * 0.5 * size
            add_line(line, foot + beyond / 2, tip + beyond, HAIRLINE * size)
        _add_arrowhead(line, tip, inward, size)
    middle, level = (start + end) / 2, along.imag == 0
    half = (text_width(label, size) + 0.8 * size if level else 1.6 * size) / 2
    if abs(end - start) > 2 * (half + size):
        add_line(line, start, middle - along * half, HAIRLINE * size)
        add_line(line, middle + along * half, end, HAIRLINE * size)
    else:
        add_line(line, start, end, HAIRLINE * size)
        middle += (0.9j * size) if level else (text_width(label, size) / 2 + 0.4 * size)
    add_centred(line, label, middle, size, fill=INK)


def _add_arrowhead(parent: Element, tip: Point, inward: Point, size: float) -> None:
    """A slim filled triangle."""
    back, side = tip + 0.8 * size * inward, 0.16 * size * inward * 1j
    corners = [tip, back + side, back - side]
    points = " ".join(f"{number(corner.real)},{number(-corner.imag)}" for corner in corners)
    add(parent, "polygon", points=points, fill=INK)


def add_scale_bar(parent: Element, at: Point, room: float, size: float) -> None:
    """A bar of the longest round length within the room, its left end at a point."""
    length = next((bar for bar in SCALE_BARS if bar <= room), SCALE_BARS[-1])
    bar = add(parent, "g", id="scale-bar")
    add_line(bar, at, at + length, 0.25 * size)
    add_text(bar, in_mm(length), at + length + 0.6 * size - 0.36j * size, size, fill=INK)


def add_finding_marks(parent: Element, findings: Sequence[Finding], taken: list[Box], size: float) -> None:
    """A ring about each finding's place and its number beside it, clear of what is taken and of one another
    where there is room; findings without a place have none.
    """
    marks = add(parent, "g", id="finding-marks")
    for count, finding in enumerate(findings, start=1):
        if finding.at is None:
            continue
        mark = add(marks, "g", id=f"finding-{count}")
        for colour, width in (("#ffffff", 0.45), (INK, 0.2)):
            add_disc(
                mark, finding.at, 1.4 * size, fill="none", stroke=colour, stroke_width=number(width * size)
            )
        rings = [each.at for each in findings if each.at is not None and abs(each.at - finding.at) > size / 2]
        box = _beside(finding.at, [*taken, *(Box(at, 0.8 * complex(size, size)) for at in rings)], size)
        add_number(mark, count, box.middle, size)
        taken.append(box)


_WAYS = tuple(
    way * turn
    for way in (1.35, 2.1, 2.9)
    for turn in (1 + 1j, 1 - 1j, -1 + 1j, -1 - 1j, 1.3, 1.3j, -1.3, -1.3j)
)
"""Places of a finding's number about its own, of the letters' size: near ones first."""


def _beside(at: Point, taken: Sequence[Box], size: float) -> Box:
    half = 0.8 * complex(size, size)
    box = freest((Box(at + 0.7 * way * size, half) for way in _WAYS), taken)
    assert box is not None
    return box


def add_number(parent: Element, count: int, at: Point, size: float) -> None:
    """White figures on a dark disc."""
    add_disc(parent, at, 1.5 * size, fill=INK, stroke="#ffffff", stroke_width=number(0.12 * size))
    letters = (1.0 if count < 10 else 0.8) * size
    add_centred(parent, str(count), at, letters, fill="#ffffff", font_weight="bold")


def finding_text(finding: Finding) -> str:
    """One finding in one line.

    >>> finding_text(Finding(rule="trace_width", value=1e-4, limit=2e-4, unit="m", layer=1, at=None, says=""))
    'trace width: 0.1 mm, limit 0.2 mm, copper 1'
    """
    layer = "" if finding.layer is None else f", copper {finding.layer}"
    value, limit = finding.amounts
    says = f". {finding.says}" if finding.says else ""
    return f"{finding.rule.replace('_', ' ')}: {value}, limit {limit}{layer}{says}"
