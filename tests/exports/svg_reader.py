"""An SVG file read back."""

import io
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import combinations
from xml.etree import ElementTree

SVG = "{http://www.w3.org/2000/svg}"
Element = ElementTree.Element


def read_back(files: Mapping[str, bytes]) -> Element:
    """The root of the single SVG file of an export."""
    (content,) = files.values()
    return ElementTree.parse(io.BytesIO(content)).getroot()


Box = tuple[float, float, float, float]
"""Left, top, right, bottom in the picture's units, y down."""


@dataclass(frozen=True, kw_only=True)
class Text:
    """A line of text and the box of its letters."""

    says: str
    box: Box


def texts(root: Element, size: float = 0.0) -> list[Text]:
    """Every text of a picture, in the order drawn. size: of letters that do not tell their own."""
    lines = [element for element in root.iter() if element.tag.removeprefix(SVG) == "text"]
    return [Text(says=line.text or "", box=_letters(line, size)) for line in lines]


def _letters(element: Element, size: float) -> Box:
    says, size = element.text or "", float(element.get("font-size", size))
    x, y = float(element.get("x", "")), float(element.get("y", ""))
    width = size * sum(_width(letter) for letter in says)
    left = x - width * {"start": 0.0, "middle": 0.5, "end": 1.0}[element.get("text-anchor", "start")]
    return left, y - 0.72 * size, left + width, y + 0.02 * size


def _width(letter: str) -> float:
    """Of the size, of each sort of letter: sentences are as wide to 3 % as the font DejaVu Sans sets them."""
    return 0.32 if letter in " .,:;'|!iljft()[]" else 0.85 if letter in "mwMW×" else 0.6


def view_box(root: Element) -> Box:
    left, top, width, height = (float(word) for word in root.get("viewBox", "").split())
    return left, top, left + width, top + height


def outside(root: Element, size: float = 0.0) -> list[Text]:
    """Texts that reach past the picture."""
    left, top, right, bottom = view_box(root)
    return [
        text
        for text in texts(root, size)
        if text.box[0] < left or text.box[1] < top or text.box[2] > right or text.box[3] > bottom
    ]


def touching(root: Element, size: float = 0.0) -> list[tuple[str, str]]:
    """Pairs of texts whose letters touch."""
    return [(a.says, b.says) for a, b in combinations(texts(root, size), 2) if overlap(a.box, b.box)]


def overlap(one: Box, other: Box) -> bool:
    across = min(one[2], other[2]) > max(one[0], other[0])
    return across and min(one[3], other[3]) > max(one[1], other[1])
