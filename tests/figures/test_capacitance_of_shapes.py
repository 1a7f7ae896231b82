"""Capacitance of two facing layers of every shape, against plates between the copper as it lies."""

import numpy as np
import pytest
import shapely
from core_cases import case, shaped
from designs import SHAPES

from coilgen.figures.electrical.capacitance import _evened
from coilgen.geometry.region import chords

EPSILON_0 = 8.8541878128e-12
WIDTH, STEP = 1e-3, 0.05e-3
FRINGE = 1.08
"""What the field beside the plates adds at most: d / (pi w) (1 + ln(2 pi w / d)) is 5 % for strips that lie
over one another (Palmer 1937, from memory), more for those that lie a little aside."""
SIZES = {
    "rectangular": "outer_size = [34, 16]",
    "racetrack": "outer_size = [34, 16]",
    "oval": "outer_size = [34, 19]",
    "other": "outer_size = 20",
    "wedge": "inner_radius = 10\nouter_radius = 32\nangle = 50",
}


@pytest.mark.parametrize(
    "shape",
    ["racetrack", *(pytest.param(each, marks=pytest.mark.slow) for each in SHAPES if each != "racetrack")],
)
def test_facing_layers_are_plates(shape):
    """Energy of plates as far apart as the layers, by the voltage between the two points that face.

    The voltage falls evenly along the wire here, by the flux in the figure; what bulges out beside the plates
    is left out here.
    """
    found = case(shaped(shape, SIZES, width=1e3 * WIDTH))
    stackup = found.design.board.stackup
    (gap,), permittivity = stackup.dielectric, stackup.laminate.permittivity
    upper, lower = (shapely.LineString(chords(found.art.traces_on(layer)[0].path, 1e-5)) for layer in (1, 2))
    at = facing(upper, lower)
    along, beneath = (shapely.line_locate_point(path, at) for path in (upper, lower))
    between = (upper.length + beneath - along) / (upper.length + lower.length)
    plates = EPSILON_0 * permittivity / gap * STEP**2 * (between**2).sum()
    value, (low, high) = found.value("winding_capacitance"), model_error(found)
    assert plates < value + high
    assert value + low < FRINGE * plates


def model_error(found):
    """Of the figure's band that which no tolerance explains, F."""
    return found.spread("winding_capacitance").shifts["model of winding_capacitance"]


def facing(upper, lower):
    """Points of a square grid where copper of both layers lies."""
    both = shapely.union(upper, lower).bounds
    x, y = (np.arange(both[axis] - WIDTH, both[axis + 2] + WIDTH, STEP) for axis in (0, 1))
    points = shapely.points(*(each.ravel() for each in np.meshgrid(x, y)))
    for path in (upper, lower):
        points = points[shapely.dwithin(path, points, WIDTH / 2)]
    return points


def test_layers_that_mirror_one_another_but_for_rounding_are_made_alike():
    height = np.array([0.0, 0.0, -1.0, -1.0, -2.0, -2.0]) * 1e-3
    place = np.array([5.0, 6.0, 5.5, 6.5, 6.002, 5.001]) * 1e-3
    found = 1e3 * _evened(place, height, 1e-5)
    assert found == pytest.approx(np.array([5.0005, 6.001, 5.5, 6.5, 6.001, 5.0005]))
    assert np.array_equal(_evened(place, height, 1e-6), place)


def test_two_layers_side_by_side_resonate_alike_a_millionth_wider():
    """A voltage of rounding alone once told a resonance a fifth lower."""
    text = (
        'name = "c"\n[winding]\nshape = "dodecagonal"\nlayers = 2\nturns = 2.0\ntrace_width = {}\n'
        'trace_spacing = 0.578957074\nouter_size = 8.73923527746\nconnection = "parallel"\n'
        'corner = "chamfered"\n[board]\noutline = "round"\n'
    )
    cases = [case(text.format(width)) for width in (0.162830282, 0.162830445)]
    one, other = (each.value("self_resonance") for each in cases)
    assert one == pytest.approx(other, rel=1e-4)


@pytest.mark.parametrize(
    ("shape", "layers", "turns", "stackup"),
    [("square", 2, 6.75, "rigid-2-layer-1.6mm"), ("hexagonal", 3, 5.5, "flex-4-layer")],
)
def test_capacitance_moves_as_smoothly_as_the_size(shape, layers, turns, stackup):
    """Turns that lie midway on the solver's grid once moved it by 1 % on a hundredth of a millimetre."""
    text = (
        f'name = "c"\n[winding]\nshape = "{shape}"\nlayers = {layers}\nturns = {turns}\ntrace_width = 0.2\n'
        f'trace_spacing = 0.2\nouter_size = {{!r}}\n[board]\nstackup = "{stackup}"\n'
    )
    sizes = (22.0, 22.0 + 1e-9, 22.01, 22.02, 22.03)
    first, again, *others = (case(text.format(size)).value("winding_capacitance") for size in sizes)
    assert again == pytest.approx(first, rel=1e-9, abs=0)
    assert np.diff([first, *others]) / first == pytest.approx([5e-4] * 3, abs=2e-5)
    assert np.abs(np.diff([first, *others], 2)).max() < 1e-7 * first
