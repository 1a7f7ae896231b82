"""SVG elements in millimetres, y up turned to y down, arcs kept as arcs (W3C, SVG 1.1, section 8.3.8)."""

import math
import re
from collections.abc import Iterator
from xml.etree import ElementTree

from coilgen.geometry.arc import Arc
from coilgen.geometry.path import Path, Segment
from coilgen.geometry.point import Point

Element = ElementTree.Element

INK = "#26292e"
"""Lines and letters of the drawing itself."""


def add(parent: Element, tag: str, text: str = "", **attributes: str) -> Element:
    """A new child. In attribute names an underscore stands for the hyphen."""
    child = ElementTree.SubElement(
        parent, tag, {name.rstrip("_").replace("_", "-"): value for name, value in attributes.items()}
    )
    child.text = text or None
    return child


SCREEN = (1200, 800)
"""Pixels that a picture of its own fills on a screen, in one direction or the other."""


def fit_screen(root: Element) -> None:
    """Gives a picture in millimetres a size for the screen; paper and other programs keep the true one."""
    width, height = (float(each) for each in root.get("viewBox", "").split()[2:])
    scale = min(SCREEN[0] / width, SCREEN[1] / height)
    style = f"@media screen {{ :root {{ width: {width * scale:.0f}px; height: {height * scale:.0f}px; }} }}"
    root.insert(0, Element("style"))
    root[0].text = style


def written(root: Element) -> bytes:
    """The file."""
    ElementTree.indent(root, " ")
    body = ElementTree.tostring(root, encoding="unicode")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{body}\n'.encode()


def number(length: float) -> str:
    """Metres as millimetres to the nanometre, no longer than needed."""
    return f"{round(length * 1e3, 6) + 0.0:.6f}".rstrip("0").rstrip(".")


def xy(point: Point) -> str:
    """Coordinates of a point, y down."""
    return f"{number(point.real)} {number(-point.imag)}"


def path_data(path: Path) -> str:
    """The path's `d`; closed paths end in Z."""
    steps = [f"M{xy(path.start)}", *(step for segment in path.segments for step in _steps(segment))]
    return " ".join(steps) + (" Z" if path.closed else "")


def _steps(segment: Segment) -> Iterator[str]:
    """An arc of half a turn or more is halved: two points and a radius would not tell which way it goes."""
    if not isinstance(segment, Arc):
        yield f"L{xy(segment.end)}"
        return
    radius = number(segment.radius)
    clockwise = 0 if segment.sweep > 0 else 1
    parts = 1 + int(abs(segment.sweep) / (math.pi - 1e-6))
    for part in range(1, parts + 1):
        yield f"A{radius} {radius} 0 0 {clockwise} {xy(segment.at(part / parts))}"


def add_path(parent: Element, path: Path, **attributes: str) -> Element:
    """A path element."""
    return add(parent, "path", d=path_data(path), **attributes)


def add_rectangle(parent: Element, low: Point, high: Point, **attributes: str) -> Element:
    """A rectangle from its lower left to its upper right corner."""
    x, y = xy(complex(low.real, high.imag)).split()
    across, up = number(high.real - low.real), number(high.imag - low.imag)
    return add(parent, "rect", x=x, y=y, width=across, height=up, **attributes)


def add_line(parent: Element, start: Point, end: Point, width: float) -> Element:
    """A straight line in ink."""
    return add(parent, "path", d=f"M{xy(start)} L{xy(end)}", stroke=INK, stroke_width=number(width))


def add_disc(parent: Element, at: Point, diameter: float, **attributes: str) -> Element:
    """A circle element."""
    x, y = xy(at).split()
    return add(parent, "circle", cx=x, cy=y, r=number(diameter / 2), **attributes)


def add_text(
    parent: Element, text: str, at: Point, size: float, *, anchor: str = "start", **attributes: str
) -> Element:
    """Letters of a size (m) standing on a point."""
    x, y = xy(at).split()
    return add(
        parent, "text", _legible(text), x=x, y=y, font_size=number(size), text_anchor=anchor, **attributes
    )


def add_centred(parent: Element, text: str, at: Point, size: float, **attributes: str) -> Element:
    """Letters whose middle is at a point. Capitals of common faces are some 0.72 of the size high."""
    return add_text(parent, text, at - 0.36j * size, size, anchor="middle", **attributes)


def text_width(text: str, size: float) -> float:
    """Width that a text needs at most in common sans-serif faces, m."""
    return 0.6 * size * len(text)


def _legible(text: str) -> str:
    """Control characters have no place in XML."""
    return re.sub(r"[^\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]", " ", text)
