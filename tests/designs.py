"""Designs for tests: texts of design files over every shape, layer count, direction.

Corner and fraction of a turn.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import pytest
from hypothesis import strategies as st

from coilgen.artwork.art import Art
from coilgen.catalogue import names
from coilgen.design.design import Design
from coilgen.design.measure import Measure, measure_of
from coilgen.design.reading import read_text
from coilgen.job import draw
from coilgen.layout.coil import Coil


@dataclass(frozen=True, kw_only=True)
class Asked:
    """A design in few numbers, mm."""

    shape: str = "square"
    layers: int = 2
    turns: float = 6
    direction: str = "counterclockwise"
    corner: str = "sharp"
    connection: str = "series"
    via_count: int = 1
    kind: str = "plated-hole"
    side: str = "south"
    pocket: str | None = None
    width: float = 0.2
    spacing: float = 0.2
    inner: float = 16.0
    stackup: str | None = None
    pitch: float = 3.5
    via_pad: float = 0.6
    lead_width: float | None = None
    scale: float = 1.0

    @property
    def outer(self) -> float:
        return self.inner + 2 * (self.turns * self.width + (self.turns - 1) * self.spacing)


def text(asked: Asked) -> str:
    """The design file; every length, the shop's limits too, times the scale."""

    def mm(length: float) -> str:
        return f"{length * asked.scale:.9g}"

    lines = [
        'name = "held"',
        "[winding]",
        f'shape = "{asked.shape}"',
        f"layers = {asked.layers}",
        f"turns = {asked.turns}",
        f"trace_width = {mm(asked.width)}",
        f"trace_spacing = {mm(asked.spacing)}",
        *_sizes(asked, mm),
        f'direction = "{asked.direction}"',
        f'connection = "{asked.connection}"',
    ]
    if asked.corner != "sharp" and measured_by(asked.shape).cornered:
        lines += [f'corner = "{asked.corner}"', f"corner_size = {mm(0.5)}"]
    lines += ["[board]", 'outline = "none"']
    if asked.stackup:
        lines.append(f'stackup = "{asked.stackup}"')
    if asked.pocket:
        lines += ["[pocket]", f'shape = "{asked.pocket}"', f"size = {mm(6)}"]
        lines += [f"corner_radius = {mm(0.5)}"] if asked.pocket != "round" else []
    drill = [f"drill = {mm(1.0)}"] if asked.kind == "plated-hole" else []
    lines += ["[via]", f"count = {asked.via_count}", f"drill = {mm(0.3)}", f"pad = {mm(asked.via_pad)}"]
    lines += ["[terminals]", f'kind = "{asked.kind}"', f'side = "{asked.side}"', f"pad = {mm(1.8)}"]
    lines += [f"lead_width = {mm(asked.lead_width)}"] if asked.lead_width else []
    lines += [*drill, f"pitch = {mm(asked.pitch)}", "[rules]", 'shop = "rigid-standard"']
    limits = {"trace_spacing": 0.15, "hole_to_hole": 0.5, "copper_to_pocket": 0.3, "hole_to_pocket": 0.45}
    lines += [f"{name} = {mm(value)}" for name, value in limits.items()]
    return "\n".join(lines) + "\n"


def measured_by(shape: str) -> Measure:
    """What the sizes of a shape measure."""
    measure = measure_of(shape)
    assert measure is not None
    return measure


def _sizes(asked: Asked, mm: Callable[[float], str]) -> list[str]:
    """The opening: of one size, of two, or of a sector whose radii have it between them and the copper."""
    measure = measured_by(asked.shape)
    if measure.sector:
        return [f"inner_size = {mm(asked.inner)}", f"inner_radius = {mm(asked.inner)}", "angle = 80"]
    if measure.count == 2:
        both = [mm(asked.inner * LONGER), mm(asked.inner)]
        # Across and along the terminals' side, so that other sides give images of the same winding.
        across, up = both if asked.side in ("north", "south") else both[::-1]
        return [f"inner_size = [{across}, {up}]"]
    return [f"inner_size = {mm(asked.inner)}"]


LONGER = 1.6
"""The larger of two sizes over the lesser."""


def made(asked: Asked) -> tuple[Design, Coil, Art]:
    """The design with its coil and art."""
    design = read_text(text(asked))
    return (design, *draw(design))


SHAPES = names("coilgen.layout.shapes")
_TELLING = ("round", "square", "pentagonal", "oval", "wedge")
EACH_SHAPE = [
    shape if shape in _TELLING else pytest.param(shape, marks=pytest.mark.slow, id=shape) for shape in SHAPES
]
"""All shapes for what takes long of each; those that are like another in the slow tests."""
CORNERS = ("sharp", "chamfered", "rounded")


def asked_designs() -> st.SearchStrategy[Asked]:
    """Over everything that changes how a winding is laid out."""

    def stackup(asked: Asked) -> Asked:
        return (
            replace(asked, stackup="rigid-8-layer-1.6mm")
            if asked.layers % 2 == 0 and asked.via_count > 1
            else asked
        )

    def roomy(asked: Asked) -> Asked:
        """In triangles, sectors and between short sides only larger openings hold pockets and many vias."""
        measure = measured_by(asked.shape)
        narrow = measure.sector or measure.corners == 3 or measure.corners > 8
        return replace(asked, inner=round(1.4 * asked.inner, 3)) if narrow else asked

    return (
        st.builds(
            Asked,
            shape=st.sampled_from(SHAPES),
            layers=st.integers(1, 8),
            turns=st.sampled_from([2, 3, 5, 8, 2.5, 7.5, 4.25, 6.75, 7.3]),
            direction=st.sampled_from(["counterclockwise", "clockwise"]),
            corner=st.sampled_from(CORNERS),
            via_count=st.sampled_from([1, 1, 2, 3]),
            kind=st.sampled_from(["plated-hole", "surface-pad"]),
            side=st.sampled_from(["north", "east", "south", "west"]),
            pocket=st.sampled_from([None, "round", "square", "hexagonal"]),
            width=st.sampled_from([0.15, 0.2, 0.5, 0.9]),
            spacing=st.sampled_from([0.15, 0.2, 0.3]),
            inner=st.floats(15.0, 24.0).map(lambda value: round(value, 3)),
        )
        .map(stackup)
        .map(roomy)
    )
