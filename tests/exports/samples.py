"""Designs of several shapes, layer counts and boards, wound and drawn as the program does it."""

from functools import cache

from coilgen.design.design import Design
from coilgen.job import draw
from coilgen.result.result import Result

_TRACE = {"trace_width": "0.2 mm", "trace_spacing": "0.15 mm"}

TABLES: dict[str, dict[str, object]] = {
    "shutter": {
        "note": "coil of an optical shutter",
        "winding": {"shape": "round", "layers": 2, "turns": 9, "outer_size": "20 mm", **_TRACE},
        "pocket": {"size": "6.1 mm"},
    },
    "latch": {
        "winding": {"shape": "square", "layers": 4, "turns": 8, "outer_size": "26 mm", **_TRACE},
        "board": {"outline": "rectangle", "width": "34 mm", "height": "40 mm", "corner_radius": "2 mm"},
        "pocket": {"shape": "square", "size": "8 mm"},
        "drive": {"voltage": "5 V"},
    },
    "stator": {
        "winding": {
            "shape": "hexagonal",
            "layers": 2,
            "turns": 7.5,
            "outer_size": "16 mm",
            "direction": "clockwise",
            "corner": "rounded",
            "corner_size": "0.3 mm",
            **_TRACE,
        },
        "terminals": {"kind": "surface-pad", "side": "east"},
    },
    "single": {
        "winding": {"shape": "round", "layers": 1, "turns": 5, "outer_size": "14 mm", **_TRACE},
        "board": {"stackup": "flex-1-layer", "outline": "none"},
    },
    "chamfered": {
        "winding": {
            "shape": "square",
            "layers": 3,
            "turns": 6.25,
            "outer_size": "18 mm",
            "corner": "chamfered",
            "corner_size": "0.05 mm",
            **_TRACE,
        },
        "board": {"stackup": "rigid-4-layer-1.6mm"},
        "pocket": {"shape": "hexagonal", "size": "4 mm"},
    },
}


@cache
def sample(name: str) -> Result:
    """A result without figures and findings."""
    design = Design.from_tables({"name": name, **TABLES[name]})
    coil, art = draw(design)
    return Result(design=design, coil=coil, art=art, findings=(), figures={}, cautions=("Hot when driven.",))
