"""What all metal near a winding adds to its inductance: which method fits, and how near it comes.

Bodies that are round and centred are solved as they are. A single plate that is not magnetic and not round is
one of sheets. All else is taken for discs of equal area, and where some of it is magnetic the sum is scaled
so that at rest it is what the true bodies add.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

import numpy as np

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.physics.base.constants import MU0
from coilgen.physics.field.filaments import Filaments
from coilgen.physics.metal.relaxation import Relaxation, scaled
from coilgen.physics.metal.ring_field import Rings, averaged_rings
from coilgen.physics.metal.round_bodies import RoundMetal, metals_about, round_metal
from coilgen.physics.metal.round_mesh import ROUGHLY, RoundBody
from coilgen.physics.metal.sheet_flux import path_flux, ring_flux
from coilgen.physics.metal.sheet_grid import SheetGrid, layers, openings
from coilgen.physics.metal.sheets import sheet_currents

Method = Literal["round", "sheets", "equal area"]
_OF_WINDING, _FEWEST, _MOST = 1 / 16, 32, 96
"""Cells of a plate: of the winding's radius, and how many along its longer side."""
_SQUARE = 1.3
"""Longer over shorter side, up to which a plate is like its disc to some per cent."""
_SHARE_OF_GAP, _SHARE_OF_WIDTH = 0.5, 0.5
_OF_STRIP = 1.2
"""Of a strip's width: no finer mesh for turns right at a face."""
_MAGNETIC = 1.1
"""Relative permeability from which a body counts as magnetic: magnets stay below, but hard ferrites."""


@dataclass(frozen=True, kw_only=True)
class MetalBody:
    """A flat body along z, SI units: size (x, y) m over all, its diameter twice where round; hole: m, round.

    permeability: relative; conductivity: S/m, 0 for what does not conduct.
    """

    round: bool
    size: tuple[float, float]
    bottom: float
    thickness: float
    conductivity: float
    permeability: float = 1.0
    hole: float = 0.0
    centre: tuple[float, float] = (0.0, 0.0)

    @property
    def top(self) -> float:
        """m."""
        return self.bottom + self.thickness

    @property
    def centred(self) -> bool:
        """Whether its middle stands on the axis, to a thousandth of its size."""
        return float(np.hypot(*self.centre)) <= 1e-3 * min(self.size)

    @property
    def magnetic(self) -> bool:
        """Whether it is more so than air or a magnet."""
        return self.permeability >= _MAGNETIC

    @property
    def oblong(self) -> bool:
        """Whether a disc of its area is unlike it."""
        return max(self.size) > _SQUARE * min(self.size)


@dataclass(frozen=True, kw_only=True)
class Metal:
    """What the bodies add. round: as round bodies or discs of equal area, None for sheets.

    inductance_error: of the greatest added inductance; resistance_error: of the added resistance. scale: of
    the effect of discs of equal area.
    """

    relaxation: Relaxation
    round: RoundMetal | None
    method: Method
    inductance_error: float
    resistance_error: float
    scale: float = 1.0


def metal_near_coil(
    bodies: Sequence[MetalBody],
    winding: Filaments,
    lowest: float,
    highest: float,
    *,
    round_winding: bool,
    at_rest: float | None = None,
    like: Metal | None = None,
) -> Metal:
    """Metal near a closed path about the axis x = y = 0, from a lowest to a highest frequency, Hz.

    at_rest: H, what the true bodies add for direct current, where known and some are magnetic. like: what
    these bodies add with other permeabilities, near the same winding.
    """
    scale, method = 1.0, method_for(bodies, round_winding=round_winding)
    rings = winding_rings(bodies, winding)
    if method == "sheets":
        relaxation = _sheets(bodies[0], winding, rings, lowest, highest, round_winding=round_winding)
        return Metal(
            relaxation=relaxation, round=None, method=method, inductance_error=0.03, resistance_error=0.1
        )
    found = round_metal(
        [disc_of_equal_area(body) for body in bodies],
        rings,
        lowest,
        highest,
        detail=mesh_detail(bodies, winding),
        coarseness=ROUGHLY,
        like=None if like is None else like.round,
    )
    if at_rest is not None and found.relaxation.static > 0.0:
        scale = at_rest / found.relaxation.static
    return _metal(found, bodies, method, scale)


def metals_with_permeabilities(
    like: Metal, others: Sequence[Sequence[MetalBody]], winding: Filaments, lowest: float, highest: float
) -> list[Metal]:
    """Each of others like known bodies near a path, but of permeabilities to either side of theirs.

    Scaled as those. Raises ValueError for sheets, which are not magnetic.
    """
    if like.round is None:
        raise ValueError("sheets are not magnetic")
    found = metals_about(
        like.round,
        [[disc_of_equal_area(body) for body in bodies] for bodies in others],
        winding_rings(others[0], winding),
        lowest,
        highest,
        detail=mesh_detail(others[0], winding),
        coarseness=ROUGHLY,
    )
    return [_metal(*each, like.method, like.scale) for each in zip(found, others, strict=True)]


def _metal(found: RoundMetal, bodies: Sequence[MetalBody], method: Method, scale: float) -> Metal:
    found = found if method == "round" else _scaled(found, scale)
    inductance_error, resistance_error = _errors(bodies, method)
    return Metal(
        relaxation=found.relaxation,
        round=found,
        method=method,
        scale=scale,
        inductance_error=inductance_error,
        resistance_error=resistance_error,
    )


def method_for(bodies: Sequence[MetalBody], *, round_winding: bool) -> Method:
    """How these bodies are reckoned."""
    if len(bodies) == 1 and not bodies[0].magnetic:
        body = bodies[0]
        return "round" if body.round and body.centred and round_winding else "sheets"
    whole = all(body.round and body.centred for body in bodies)
    return "round" if whole and round_winding else "equal area"


def _errors(bodies: Sequence[MetalBody], method: Method) -> tuple[float, float]:
    """Of added inductance and resistance, as seen against solutions in space."""
    if method == "round":
        return 0.02, 0.02
    if not all(body.centred for body in bodies):
        return 0.2, 0.4
    if any(body.oblong for body in bodies):
        return 0.07, 0.25
    return (0.03, 0.1) if any(body.magnetic for body in bodies) else (0.08, 0.05)


def disc_of_equal_area(body: MetalBody) -> RoundBody:
    """The body, or a centred disc of its area."""
    area = body.size[0] * body.size[1] * (np.pi / 4 if body.round else 1.0)
    return RoundBody(
        inner=0.5 * body.hole,
        outer=float(np.sqrt(area / np.pi)),
        bottom=body.bottom,
        top=body.top,
        conductivity=body.conductivity,
        permeability=body.permeability,
    )


def _scaled(metal: RoundMetal, factor: float) -> RoundMetal:
    return replace(
        metal,
        relaxation=scaled(metal.relaxation, factor),
        static_flux=factor * metal.static_flux,
        flux=np.sqrt(factor) * metal.flux,
    )


def winding_rings(bodies: Sequence[MetalBody], winding: Filaments) -> Rings:
    """The winding as rings, close enough together for the bodies near it."""
    return averaged_rings(winding, lambda height: _spacing(bodies, winding, height))


def _gap(bodies: Sequence[MetalBody], height: float) -> float:
    """Of a height from the nearest body, m."""
    return min(max(0.0, body.bottom - height, height - body.top) for body in bodies)


def _spacing(bodies: Sequence[MetalBody], winding: Filaments, height: float) -> float:
    """Of rings at a height, m."""
    return max(_SHARE_OF_GAP * _gap(bodies, height), _SHARE_OF_WIDTH * float(winding.width.max()))


def mesh_detail(bodies: Sequence[MetalBody], winding: Filaments) -> float:
    """Spacing of a mesh along r that resolves turns near a face, m."""
    gap = min(_gap(bodies, float(z)) for z in np.unique(winding.start[:, 2]))
    return max(gap, _OF_STRIP * float(winding.width.max()))


def _sheets(
    body: MetalBody, winding: Filaments, rings: Rings, lowest: float, highest: float, *, round_winding: bool
) -> Relaxation:
    grid = _grid(body, float(rings.radius.max()), highest)
    flux = ring_flux(grid, rings) if round_winding else path_flux(grid, winding)
    return sheet_currents(grid, flux, lowest, highest).relaxation


def _grid(body: MetalBody, radius: float, highest: float) -> SheetGrid:
    """Cells about square, an even number along each side."""
    longest = max(body.size)
    cells = min(max(longest / (_OF_WINDING * radius), _FEWEST), _MOST)
    count = [max(4, 2 * round(0.5 * cells * side / longest)) for side in body.size]
    skin = 1.0 / np.sqrt(np.pi * highest * MU0 * body.conductivity)
    thickness = layers(body.thickness, float(skin))
    x, y = (
        centre + (np.arange(1, n) / n - 0.5) * side
        for centre, n, side in zip(body.centre, count, body.size, strict=True)
    )
    metal, holes = openings(_blocked(body, x, y))
    return SheetGrid(
        cell=(body.size[0] / count[0], body.size[1] / count[1]),
        origin=(body.centre[0] - 0.5 * body.size[0], body.centre[1] - 0.5 * body.size[1]),
        middle=body.top - np.cumsum(thickness) + 0.5 * thickness,
        thickness=thickness,
        metal=metal,
        holes=holes,
        conductivity=body.conductivity,
    )


def _blocked(body: MetalBody, x: Floats, y: Floats) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
    """Corners of a grid without metal."""
    aside = np.hypot(x[:, None] - body.centre[0], y - body.centre[1])
    outside = aside >= 0.5 * body.size[0] if body.round else np.zeros(aside.shape, dtype=bool)
    return np.asarray(outside | (aside < 0.5 * body.hole))
