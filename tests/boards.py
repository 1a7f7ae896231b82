"""Designs, coils and arts made by hand, each sound until a test breaks it."""

import cmath
import math
from itertools import pairwise

from coilgen.artwork.art import Art, Hole, Pad
from coilgen.design.reading import read_text
from coilgen.geometry.arc import Arc
from coilgen.geometry.line import Line
from coilgen.geometry.path import Path
from coilgen.layout.coil import Coil, Terminal, Trace

mm = 1e-3

DESIGN = """
name = "sample"
[winding]
shape = "square"
layers = 2
turns = 5
trace_width = "0.3 mm"
trace_spacing = "0.2 mm"
outer_size = "20 mm"
"""


def read_design(more=""):
    """A design of two layers for the rigid-standard shop, with more tables or rules."""
    return read_text(DESIGN + more)


def blank_art(**fields):
    """A board of two copper layers with nothing on it but what is given."""
    nothing = dict.fromkeys(("traces", "pads", "holes", "openings", "legend", "pockets"), ())
    return Art(**{"copper_layers": 2, **nothing, "outline": None, **fields})


def coil_of(traces, turns=10.0):
    """A coil of some traces; its terminals stand far off."""
    ends = (Terminal(number=n, at=complex(n, 1), pad=1 * mm, drill=0.0, layer=1) for n in (1, 2))
    return Coil(traces=tuple(traces), vias=(), terminals=tuple(ends), pockets=(), turns=turns)


def straight(*points, layer=1, width=0.3):
    """A trace through points in mm."""
    at = [complex(point) * mm for point in points]
    path = Path(tuple(Line(start, end) for start, end in pairwise(at)))
    return Trace(layer=layer, path=path, width=width * mm)


def pad(at, diameter=1.0, layer=1, terminal=None):
    return Pad(layer=layer, at=complex(at) * mm, diameter=diameter * mm, terminal=terminal)


def hole(at, diameter=0.3, plated=True, terminal=None):
    return Hole(at=complex(at) * mm, diameter=diameter * mm, plated=plated, terminal=terminal)


def round_spiral(turns=4, radius=10.0, pitch=0.5, width=0.3, layer=1):
    """Inward, of quarter arcs about the four corners of a square, mm."""
    d = pitch * math.sqrt(2) / 8
    centres = (-d, -1j * d, d, 1j * d)
    arcs = [
        Arc(
            complex(centres[j % 4]) * mm,
            (radius - j * pitch / 4) * mm,
            -0.75 * math.pi + (j % 4) * math.pi / 2,
            math.pi / 2,
        )
        for j in range(4 * turns)
    ]
    return Trace(layer=layer, path=Path(tuple(arcs)), width=width * mm)


def polygon_spiral(sides=4, turns=4, apothem=10.0, pitch=0.5, width=0.3, layer=1):
    """Inward, of sides one pitch nearer to the centre after each turn, mm."""
    apothems = [(apothem - pitch * (j // sides)) * mm for j in range(sides * turns + 1)]
    points = [_corner(apothems[0], apothems[0], -1, sides)]
    points += [_corner(apothems[j], apothems[j + 1], j, sides) for j in range(sides * turns)]
    path = Path(tuple(Line(start, end) for start, end in pairwise(points)))
    return Trace(layer=layer, path=path, width=width * mm)


def _corner(apothem, following, side, sides):
    """Where side number `side`, facing south at 0, meets the next."""
    step = 2 * math.pi / sides
    normal = cmath.rect(1.0, -math.pi / 2 + side * step)
    along = (following - apothem * math.cos(step)) / math.sin(step)
    return normal * complex(apothem, along)
