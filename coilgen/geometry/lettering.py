"""Single-stroke letters for printed marks: capitals, figures, a few signs, on a grid of four by six."""

from coilgen.geometry.path import Path, polyline
from coilgen.geometry.point import Point

GRID_WIDTH, GRID_HEIGHT, GRID_GAP = 4, 6, 2

# Each stroke is a run of grid points, two figures each: x from the left, y from the base line.
_STROKES = {
    "A": "00 04 26 44 40 / 02 42",
    "B": "00 06 36 45 44 33 03 / 33 42 41 30 00",
    "C": "45 36 16 05 01 10 30 41",
    "D": "00 06 26 44 42 20 00",
    "E": "46 06 00 40 / 03 33",
    "F": "46 06 00 / 03 33",
    "G": "45 36 16 05 01 10 30 41 43 23",
    "H": "00 06 / 40 46 / 03 43",
    "I": "10 30 / 16 36 / 20 26",
    "J": "46 41 30 10 01",
    "K": "00 06 / 46 02 / 13 40",
    "L": "06 00 40",
    "M": "00 06 24 46 40",
    "N": "00 06 40 46",
    "O": "10 01 05 16 36 45 41 30 10",
    "P": "00 06 36 45 44 33 03",
    "Q": "10 01 05 16 36 45 41 30 10 / 22 40",
    "R": "00 06 36 45 44 33 03 / 23 40",
    "S": "45 36 16 05 04 13 33 42 41 30 10 01",
    "T": "06 46 / 20 26",
    "U": "06 01 10 30 41 46",
    "V": "06 20 46",
    "W": "06 00 22 40 46",
    "X": "00 46 / 06 40",
    "Y": "06 23 46 / 23 20",
    "Z": "06 46 00 40",
    "0": "10 01 05 16 36 45 41 30 10 / 12 34",
    "1": "15 26 20 / 10 30",
    "2": "05 16 36 45 44 00 40",
    "3": "05 16 36 45 44 33 42 41 30 10 01 / 13 33",
    "4": "30 36 02 42",
    "5": "46 06 03 33 42 41 30 10 01",
    "6": "36 16 05 01 10 30 41 42 33 03",
    "7": "06 46 10",
    "8": "13 04 05 16 36 45 44 33 13 02 01 10 30 41 42 33",
    "9": "10 30 41 45 36 16 05 04 13 43",
    "-": "13 33",
    "_": "00 40",
    "+": "03 43 / 21 25",
    ".": "20 21",
    ",": "21 10",
    ":": "21 22 / 24 25",
    ";": "22 10 / 24 25",
    "/": "00 46",
    "=": "02 42 / 04 44",
    "(": "36 25 21 30",
    ")": "16 25 21 10",
    "%": "00 46 / 05 06 16 15 05 / 30 31 41 40 30",
    "?": "05 16 36 45 44 23 22 / 20 21",
    " ": "",
}


def lettering(text: str, height: float, at: Point) -> tuple[Path, ...]:
    """Centre lines of a line of text, m: capitals `height` tall, the middle of the text's box at `at`.

    Small letters are drawn as capitals. Raises ValueError for a sign that has no strokes here.

    >>> lettering("L", 6.0, 0j)[0].segments
    (Line(start=(-2+3j), end=(-2-3j)), Line(start=(-2-3j), end=(2-3j)))
    """
    step = height / GRID_HEIGHT
    corner = at - complex(text_width(text, height), height) / 2
    return tuple(
        path
        for place, sign in enumerate(text)
        for path in _sign(sign, corner + place * (GRID_WIDTH + GRID_GAP) * step, step)
    )


def printable(text: str) -> str:
    """A text with a question mark for every sign that has no strokes here.

    >>> printable("µ-metal, 2 mm")
    '?-metal, 2 mm'
    """
    return "".join(sign if sign.upper() in _STROKES else "?" for sign in text)


def text_width(text: str, height: float) -> float:
    """Width between the centre lines of the first and the last stroke's grid, m.

    >>> text_width("AB", 6.0)
    10.0
    """
    columns = len(text) * (GRID_WIDTH + GRID_GAP) - GRID_GAP
    return max(columns, 0) * height / GRID_HEIGHT


def _sign(sign: str, corner: Point, step: float) -> list[Path]:
    strokes = _STROKES.get(sign.upper())
    if strokes is None:
        raise ValueError(f"no strokes for the sign {sign!r}; there are {''.join(_STROKES)}")
    return [_stroke(stroke, corner, step) for stroke in strokes.split("/") if stroke.strip()]


def _stroke(stroke: str, corner: Point, step: float) -> Path:
    return Path(polyline(corner + step * complex(int(point[0]), int(point[1])) for point in stroke.split()))
