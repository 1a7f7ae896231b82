"""Cases for figures of the field and of cores: a thin flexible coil and a small rigid one, with cores."""

from coilgen.design.reading import read_text
from coilgen.job import case_of, draw
from coilgen.result.figure import Case

FLEX = """
name = "sticker"
[winding]
shape = "round"
layers = 2
turns = 25
trace_width = 0.12
trace_spacing = 0.12
outer_size = 16
[board]
stackup = "flex-2-layer"
"""
"""A flexible coil of 16 mm, 25 turns on each of two layers."""

SMALL = """
name = "small"
[winding]
shape = "square"
layers = 2
turns = 5
trace_width = 0.2
trace_spacing = 0.2
outer_size = 10
[drive]
current = 0.5
[probe]
heights = [1, 3]
"""
"""A rigid coil that takes little time."""


def core(material: str, **measures: str | float) -> str:
    """A `[[core]]` table; lengths in mm."""
    lines = [
        f'{key} = "{value}"' if isinstance(value, str) else f"{key} = {value}"
        for key, value in measures.items()
    ]
    return "\n".join(["[[core]]", f'material = "{material}"', *lines, ""])


def case(*texts: str) -> Case:
    """The case of a design file."""
    design = read_text("\n".join(texts))
    return case_of(design, *draw(design))
