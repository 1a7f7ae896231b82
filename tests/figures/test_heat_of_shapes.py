"""Heat of windings of all shapes: rings in their place, against sheets with their own outlines.

Finite elements written here on board and copper edges as drawn, and the grid of boards with several windings.
"""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from designs import EACH_SHAPE, SHAPES
from heat_designs import case_of
from skfem import Basis, BilinearForm, ElementQuad2, FacetBasis, LinearForm, MeshQuad, solve

from coilgen.figures.heat._assembly import assembly
from coilgen.geometry.extent import extent
from coilgen.geometry.region import chords
from coilgen.layout.seen import copper_edges
from coilgen.physics.heat.body import COPPER_CONDUCTIVITY as COPPER
from coilgen.physics.heat.body import Supply
from coilgen.physics.heat.network import network
from coilgen.physics.heat.steady import steady_state

SIZES = {
    "rectangular": "outer_size = [34, 12]",
    "racetrack": "outer_size = [34, 12]",
    "oval": "outer_size = [34, 18]",
    "wedge": "outer_radius = 28\ninner_radius = 10\nangle = 38",
}
"""In mm, where it is not one of 20."""
BOARDS = {"tight": (36, 28), "wide": (60, 50)}
"""Width and height, mm."""
CURRENT, FILM = 0.9, 12.0


def slow(*cases):
    return [pytest.param(*case, marks=pytest.mark.slow) for case in cases]


def text(shape, turns, board, *, several=False, mounting=""):
    width, height = BOARDS[board]
    kind, drive = ("[winding]\nlayers = 2", "[drive]")
    if several:
        kind, drive = '[[winding]]\nname = "only"\ncopper_layers = [1, 2]', "[winding.drive]"
    return f"""
name = "warm"
{kind}
shape = "{shape}"
turns = {turns}
trace_width = 0.3
trace_spacing = 0.2
{SIZES.get(shape, "outer_size = 20")}
{drive}
current = {CURRENT}
[board]
stackup = "rigid-2-layer-1.6mm"
outline = "rectangle"
width = {width}
height = {height}
[mounting]
{mounting}
"""


@pytest.mark.parametrize(("turns", "board"), [(8, "wide"), *slow((3, "wide"), (3, "tight"), (8, "tight"))])
@pytest.mark.parametrize("shape", EACH_SHAPE)
def test_rings_are_as_warm_as_finite_elements_of_the_outline(shape, turns, board):
    """Boards longer than wide, or narrow beside the winding, are as far off round ones as around others."""
    found = case_of(text(shape, turns, board, mounting=f"forced_convection = {FILM}\nemissivity = 0"))
    by_elements = hottest_by_elements(found)
    assert 0.88 * by_elements < rise_by_rings(found) < 1.07 * by_elements
    low, high = found.figure("temperature").band
    warmer = found.value("temperature") / (25 + rise_by_rings(found))
    assert low < warmer * (25 + by_elements) < high


@pytest.mark.slow
@pytest.mark.parametrize(("turns", "board"), [(3, "wide"), (8, "tight")])
@pytest.mark.parametrize("shape", SHAPES)
def test_grid_that_knows_outlines_lies_in_the_band(shape, board, turns):
    """In still air."""
    rings, grid = (case_of(text(shape, turns, board, several=several)) for several in (False, True))
    low, high = rings.figure("temperature").band
    assert low < grid.value("temperature") < high


def rise_by_rings(found):
    """With the copper's resistance at 20 degC, K."""
    whole = replace(assembly(found), temperature_coefficient=0.0)
    return steady_state(network(whole), Supply(current=CURRENT), 1e6).coil_peak - whole.surroundings.ambient


def hottest_by_elements(found):
    """The hottest copper's rise, K: a sheet that conducts along the turns and across them as they do.

    Heat even over the winding; both faces and the rim in moving air.
    """
    board, copper = assembly(found).board, shapely.Polygon(*edges(found))
    mesh = mesh_of(found.art.outline)
    inner, rim = Basis(mesh, ElementQuad2(), intorder=6), FacetBasis(mesh, ElementQuad2())
    inside, across = directions(copper, np.asarray(inner.global_coordinates()))
    stiff = conduction.assemble(inner, **tensor(board, inside, across))
    stiff += mass.assemble(inner, film=2 * FILM) + mass.assemble(rim, film=FILM * board.thickness)
    heat = CURRENT**2 * board.resistance_20c / (inside * inner.dx).sum()
    rise = solve(stiff, source.assemble(inner, heat=heat * inside))
    return float(np.where(inside, np.asarray(inner.interpolate(rise)), 0).max())


def edges(found):
    outer, inner = (np.asarray(chords(edge, 1e-5)) for edge in copper_edges(found.design))
    return outer, [inner]


def mesh_of(outline, step=0.6e-3):
    low, high = extent(outline)
    x, y = ((low.real, high.real), (low.imag, high.imag))
    return MeshQuad.init_tensor(
        *(np.linspace(*span, 1 + round((span[1] - span[0]) / step)) for span in (x, y))
    )


def directions(copper, points):
    """Which of points (2, ...) lie on turns, and unit vectors across the turns there, (2, ...)."""
    at = shapely.points(*points)
    foot = shapely.line_interpolate_point(copper.exterior, shapely.line_locate_point(copper.exterior, at))
    way = np.stack([shapely.get_x(foot), shapely.get_y(foot)]) - points
    return shapely.contains_properly(copper, at), way / np.maximum(np.hypot(*way), 1e-12)


def tensor(board, inside, across):
    """Conductivity times thickness of all layers, W/K."""
    laminate = board.laminate.conductivity_in_plane
    base = sum(board.dielectric) * laminate
    along, over, bare = base, base, base
    for layer in board.layers:
        share = layer.coverage
        along += layer.thickness * (share * COPPER + (1 - share) * laminate)
        over += layer.thickness / (share / COPPER + (1 - share) / laminate)
        bare += layer.thickness * laminate
    (x, y), wound = across, over - along
    return {
        "xx": np.where(inside, along + wound * x * x, bare),
        "xy": np.where(inside, wound * x * y, 0.0),
        "yy": np.where(inside, along + wound * y * y, bare),
    }


@BilinearForm
def conduction(u, v, w):
    (ux, uy), (vx, vy) = u.grad, v.grad
    return w.xx * ux * vx + w.xy * (ux * vy + uy * vx) + w.yy * uy * vy


@BilinearForm
def mass(u, v, w):
    return w.film * u * v


@LinearForm
def source(v, w):
    return w.heat * v
