"""Designs for tests of heat: a board of our own, any key of which may change, and its figures on demand."""

from coilgen import job
from coilgen.design.reading import read_text

COIL = {
    "winding": {
        "shape": "round",
        "layers": 2,
        "turns": 14,
        "trace_width": 0.15,
        "trace_spacing": 0.15,
        "outer_size": 14,
    },
    "board": {"stackup": "rigid-2-layer-0.8mm", "outline": "round", "size": 22},
    "drive": {"voltage": 2.0},
}
"""Lengths in mm."""
FLEX = {"stackup": "flex-2-layer"}


def plate(**keys):
    """A core on the bottom."""
    return {"material": "low-carbon steel", "form": "plate", "width": 25, "thickness": 2, **keys}


def text(core=(), **tables):
    """The design file with keys of some tables changed; None leaves one out."""
    lines = ['name = "warm"']
    for name in dict.fromkeys([*COIL, *tables]):
        lines += [f"[{name}]", *_lines({**COIL.get(name, {}), **tables.get(name, {})})]
    for each in core:
        lines += ["[[core]]", *_lines(each)]
    return "\n".join(lines) + "\n"


def _lines(keys):
    return [f"{key} = {_written(value)}" for key, value in keys.items() if value is not None]


def _written(value):
    return f'"{value}"' if isinstance(value, str) else repr(value)


def case(core=(), **tables):
    """The design with its coil, art and figures on demand."""
    return case_of(text(core, **tables))


def case_of(written):
    """The same of a design file's text."""
    design = read_text(written)
    return job.case_of(design, *job.draw(design))


def temperature(core=(), **tables):
    """Steady temperature of the hottest copper, degC."""
    return case(core, **tables).value("temperature")
