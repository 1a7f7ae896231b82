"""Cases for figures of the field and of cores: a thin flexible coil and a small rigid one, with cores."""

from collections.abc import Mapping

import numpy as np

from coilgen.design.reading import read_text
from coilgen.job import case_of, draw
from coilgen.physics.core.body import Body
from coilgen.physics.core.holding import Pull, pull_at, target_on_two_grids
from coilgen.physics.core.magnetisation_curve import Curve
from coilgen.physics.field.filaments import Filaments
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


def shaped(shape: str, sizes: Mapping[str, str], *, width: float) -> str:
    """A flexible coil of two layers of four turns; sizes: by shape, those of others under "other", mm."""
    return f"""
name = "shaped"
[winding]
shape = "{shape}"
layers = 2
turns = 4
trace_width = {width}
trace_spacing = 0.2
{sizes.get(shape, sizes["other"])}
[board]
stackup = "flex-2-layer"
"""


def flat_loops() -> Filaments:
    """Three closed flat loops of 0.2 mm strip in series, 8 mm across."""
    angle = 2 * np.pi * np.arange(64) / 64
    rings = [r * np.column_stack([np.cos(angle), np.sin(angle), 0 * angle]) for r in (3e-3, 3.5e-3, 4e-3)]
    start, end = np.vstack(rings), np.vstack([np.roll(r, -1, axis=0) for r in rings])
    return Filaments(
        start=start, end=end, width=np.full(len(start), 2e-4), thickness=np.full(len(start), 35e-6)
    )


def pull_on_target(
    path: Filaments,
    target: Body,
    cores: tuple[Body, ...],
    curves: tuple[Curve, ...],
    *,
    current: float,
    cell: float,
) -> Pull:
    """Of a target beside cores, solved anew at a current, A."""
    return pull_at(target_on_two_grids(path, target, cores, curves, cell), current)
