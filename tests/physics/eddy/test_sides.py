"""Fields that eddy currents see, against an independent line integral and the inductance of circles."""

import magpylib
import numpy as np
import pytest

from coilgen.physics.base.conductor import Conductor
from coilgen.physics.eddy.sides import rings_field, sides_field
from coilgen.physics.eddy.turns import Turns, sides, turns
from coilgen.physics.inductance.coaxial_circles import mutual_inductance

BLUR = np.sqrt(1 / 10 + 1 / 12 + 1 / 12)  # widths


def squares(*, layers, width=0.2e-3):
    """A square spiral of three turns on each layer, 0.5 mm apart, the layers joined by vias."""
    apothem = np.repeat(4e-3 + 0.5e-3 * np.arange(3), 4)
    angle = np.pi / 4 + np.pi / 2 * np.arange(12)
    corner = (
        np.sqrt(2) * np.append(apothem, apothem[-1]) * np.exp(1j * np.append(angle, np.pi / 4 + 6 * np.pi))
    )
    points = np.stack([corner.real, corner.imag], axis=1)
    count = 12 * layers
    return Conductor(
        start=np.tile(points[:-1], (layers, 1)),
        end=np.tile(points[1:], (layers, 1)),
        centre=np.full((count, 2), np.nan),
        sweep=np.zeros(count),
        width=np.full(count, width),
        thickness=np.full(count, 35e-6),
        z=np.repeat(-0.5e-3 * np.arange(layers), 12),
        layer=np.repeat(np.arange(1, layers + 1), 12),
    )


def alone(conductor):
    return np.ones((1, len(conductor.layer)))


@pytest.mark.parametrize("layers", [1, 2])
def test_sides_are_a_line_integral_seen_from_the_blur_beside(layers):
    """A filament's perpendicular field at a height is that of a strip blurred by so many widths.

    With layers on two heights the blur adds to the height in squares, so each is seen from another point.
    """
    conductor = squares(layers=layers)
    winding = turns(conductor)
    (field,) = sides_field(sides(conductor), winding.points, winding.z, winding.width, alone(conductor))
    for turn in range(len(winding.z)):
        expected = np.zeros(len(winding.points))
        for layer in range(1, layers + 1):
            own = conductor.layer == layer
            corner, level = np.vstack([conductor.start[own], conductor.end[own][-1:]]), conductor.z[own][0]
            wire = magpylib.current.Polyline(current=1.0, vertices=np.insert(corner, 2, 0.0, axis=1))
            rise = np.hypot(winding.z[turn] - level, BLUR * winding.width[turn])
            expected += wire.getB(np.insert(winding.points[:, turn], 2, rise, axis=1))[:, 2]
        assert field[turn] == pytest.approx(expected, rel=1e-6, nan_ok=True)


def test_stations_that_are_not_crossed_have_no_field():
    conductor = squares(layers=1)
    winding = turns(conductor)
    winding.points[3, 1] = np.nan
    missing = np.isnan(
        sides_field(sides(conductor), winding.points, winding.z, winding.width, alone(conductor))
    )
    assert np.array_equal(missing[0], np.isnan(winding.points[..., 0]).T)


def test_field_of_rings_is_the_slope_of_their_inductance():
    radius, width = np.array([4e-3, 5e-3, 7e-3]), np.array([0.3e-3, 0.4e-3, 0.2e-3])
    fraction, step = np.array([1.0, -0.5, 0.25]), 1e-7
    winding = Turns(
        radius=radius,
        length=2 * np.pi * radius,
        fraction=fraction,
        z=np.array([0.0, 0.1e-3, -0.4e-3]),
        width=width,
        thickness=np.full(3, 35e-6),
        points=np.zeros((0, 3, 2)),
        piece=np.zeros(3, dtype=np.int64),
        share=np.zeros(0),
        shift=np.zeros((0, 3)),
    )
    rise = np.hypot(winding.z[:, None] - winding.z, BLUR * width[:, None])
    outer, inner = (mutual_inductance(radius[:, None] + s * step, radius, rise) for s in (1, -1))
    expected = ((outer - inner) / (2 * step) / (2 * np.pi * radius[:, None])) @ fraction
    assert rings_field(winding, np.ones((1, 3)))[0] == pytest.approx(
        expected, rel=1e-5, abs=1e-6 * np.abs(expected).max()
    )
