"""Copper and laminate in each cell of a board: what conducts along it, holds heat, and is heated."""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.heat.body import COPPER_CONDUCTIVITY, COPPER_HEAT_CAPACITY
from coilgen.physics.heat.plate.body import PlacedWinding, Plate, SheetLayer
from coilgen.physics.heat.plate.grid import Grid, Patch
from coilgen.physics.heat.plate.raster import along_nearest_side
from coilgen.physics.heat.sheet_conduction import islands_conductivity

Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True, eq=False)
class Turns:
    """A winding on a grid: region (ny, nx) m², its area in each cell; along (ny, nx, 3): products xx, yy, xy
    of the direction that its turns have there.
    """

    region: Floats
    along: Floats


def turns(lines: Grid, board: Patch, winding: PlacedWinding) -> Turns:
    """A winding's turns in the cells of a board."""
    region = lines.cover(winding.outer)
    if winding.inner is not None:
        region = np.maximum(region - lines.cover(winding.inner), 0.0)
    region = np.minimum(region, board.area)
    if not region.any():
        raise ValueError("a winding lies on the board")
    along, there = np.zeros((*region.shape, 3)), region > 0
    x, y = along_nearest_side(winding.outer, lines.middles[there]).T
    along[there] = np.stack([x * x, y * y, x * y], axis=1)
    return Turns(region=region, along=along)


@dataclass(frozen=True, kw_only=True, eq=False)
class Filling:
    """How a layer fills the cells (ny, nx): shares of their area that are wound and poured; coverage of the
    wound part; along as in Turns, of all turns there.
    """

    wound: Floats
    coverage: Floats
    along: Floats
    poured: Floats


def fillings(plate: Plate, lines: Grid, board: Patch, wound: list[Turns]) -> Iterator[Filling]:
    """How each layer fills the cells."""
    whole = np.where(board.area > 0, board.area, np.inf)
    for number, layer in enumerate(plate.layers):
        here = [
            (each.region / whole, winding.coverage[number], each.along)
            for winding, each in zip(plate.windings, wound, strict=True)
            if winding.coverage[number] > 0
        ]
        yield _filling(lines, layer, whole, here)


def _filling(
    lines: Grid, layer: SheetLayer, whole: Floats, here: list[tuple[Floats, float, Floats]]
) -> Filling:
    share: Floats = np.minimum(sum((share for share, _, _ in here), np.zeros_like(whole)), 1.0)
    copper: Floats = sum((share * coverage for share, coverage, _ in here), np.zeros_like(whole))
    along = sum(
        ((share * coverage)[..., None] * way for share, coverage, way in here),
        np.zeros((*whole.shape, 3)),
    )
    poured = sum((lines.cover(pour) for pour in layer.pours), np.zeros_like(whole)) / whole
    return Filling(
        wound=share,
        coverage=np.minimum(copper / np.where(share > 0, share, 1.0), 1.0),
        along=along / np.where(copper > 0, copper, 1.0)[..., None],
        poured=np.minimum(poured, 1.0 - share),
    )


def sheet(layer: SheetLayer, filling: Filling, backing: float, laminate: float) -> Floats:
    """Conductivity times thickness, xx, yy, xy, (ny, nx, 3) W/K, of a layer with its share of the laminate.

    backing: thickness of that, m; laminate: its conductivity in plane, W/(m K). Along the turns copper and
    laminate lie side by side, across them they alternate, in series.
    """
    c = filling.coverage
    across = 1 / (c / COPPER_CONDUCTIVITY + (1 - c) / laminate)
    along = c * COPPER_CONDUCTIVITY + (1 - c) * laminate
    between = islands_conductivity(laminate, COPPER_CONDUCTIVITY, layer.island_coverage)
    rest = layer.pour_coverage * COPPER_CONDUCTIVITY + (1 - layer.pour_coverage) * between
    every_way = (
        filling.wound * across
        + filling.poured * COPPER_CONDUCTIVITY
        + (1 - filling.wound - filling.poured) * rest
    )
    turned = (filling.wound * (along - across))[..., None] * filling.along
    even = np.array([1.0, 1.0, 0.0])
    whole: Floats = layer.thickness * (every_way[..., None] * even + turned) + backing * laminate * even
    return whole


def copper_capacity(layer: SheetLayer, filling: Filling) -> Floats:
    """Heat capacity of the layer's copper on an area, (ny, nx) J/(m² K)."""
    rest = layer.pour_coverage + (1 - layer.pour_coverage) * layer.island_coverage
    share = filling.wound * filling.coverage + filling.poured + (1 - filling.wound - filling.poured) * rest
    whole: Floats = layer.thickness * COPPER_HEAT_CAPACITY * share
    return whole


def backing(dielectric: tuple[float, ...]) -> Floats:
    """Thickness of the dielectric that each layer's nodes stand for: half of each neighbour, m."""
    half = np.array([0.0, *dielectric, 0.0]) / 2
    return half[:-1] + half[1:]
