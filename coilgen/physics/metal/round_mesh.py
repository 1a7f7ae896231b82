"""Round bodies, and a mesh of the meridian plane that resolves what flows in them."""

from collections.abc import Sequence

import numpy as np

from coilgen.frozen import dataclass
from coilgen.physics.base.constants import MU0
from coilgen.physics.base.graded_lines import Fine, graded_lines
from coilgen.physics.metal.meridian_elements import Meridian
from coilgen.physics.metal.ring_field import Rings

_FAR = 15.0
"""Of the largest radius or height: how far off u_r is held at 0; it feels the third power of that."""
_OF_SKIN, _OF_RADIUS, _OF_THICKNESS, _SLOPE = 0.4, 4e-3, 0.1, 0.8
"""Spacing at a body's faces, at most: of the skin depth, its radius, its thickness; how fast it grows."""
ROUGHLY = 1.5
"""Coarseness at which what three iron bodies added to the inductance was up to 0.3 % off, to the resistance
up to 0.6 %, held against finer meshes in two designs: enough where 2 % are told, on two thirds of nodes."""


@dataclass(frozen=True, kw_only=True)
class RoundBody:
    """A disc, rod or ring about the coil's axis, SI units; inner 0 without a hole; permeability relative."""

    inner: float
    outer: float
    bottom: float
    top: float
    conductivity: float
    permeability: float = 1.0


def round_mesh(
    bodies: Sequence[RoundBody], rings: Rings, highest: float, detail: float, coarseness: float = 1.0
) -> Meridian:
    """Lines for frequencies up to a highest, Hz; detail and coarseness as in `round_metal`."""
    size = max(
        rings.radius.max(),
        *(body.outer for body in bodies),
        np.ptp([*rings.height, *(b.bottom for b in bodies), *(b.top for b in bodies)]),
    )
    along_r = [Fine(low=rings.radius.min(), high=rings.radius.max(), spacing=detail)]
    along_z = []
    for body in bodies:
        spacing = coarseness * _face_spacing(body, highest)
        along_r += [_edge(r, spacing) for r in (body.inner, body.outer) if r > 0.0]
        along_z += [_edge(z, spacing) for z in (body.bottom, body.top)]
    slope = np.sqrt(coarseness) * _SLOPE
    low = min(rings.height.min(), *(body.bottom for body in bodies))
    high = max(rings.height.max(), *(body.top for body in bodies))
    return Meridian(
        r=graded_lines(along_r, 0.0, _FAR * size, slope),
        z=graded_lines(along_z, low - _FAR * size, high + _FAR * size, slope),
    )


def _edge(at: float, spacing: float) -> Fine:
    return Fine(low=at, high=at, spacing=spacing)


def _face_spacing(body: RoundBody, highest: float) -> float:
    least = min(body.top - body.bottom, body.outer - body.inner)
    spacing = min(_OF_RADIUS * body.outer, _OF_THICKNESS * least)
    if body.conductivity > 0.0:
        skin = 1.0 / np.sqrt(np.pi * highest * MU0 * body.permeability * body.conductivity)
        spacing = min(spacing, _OF_SKIN * float(skin))
    return spacing
