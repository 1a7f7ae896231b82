"""Boards with several windings for tests of the heat of plates."""

import numpy as np

from coilgen.physics.heat.body import Laminate, Supply, Surroundings
from coilgen.physics.heat.plate.body import Circuit, PlacedBody, PlacedWinding, Plate, SheetLayer

LAMINATE = Laminate(conductivity=0.3, conductivity_in_plane=0.8, density=1850.0, heat_capacity=1100.0)
CALM = {"ambient": 25.0, "forced_coefficient": 10.0}


def circle(radius, at=(0.0, 0.0), sides=120):
    """A polygon of the circle's area."""
    angle = 2 * np.pi * (np.arange(sides) + 0.5) / sides
    even = radius / np.sqrt(np.sin(2 * np.pi / sides) / (2 * np.pi / sides))
    return np.array(at) + even * np.stack([np.cos(angle), np.sin(angle)], axis=1)


def rectangle(width, height, at=(0.0, 0.0)):
    corners = [[-width, -height], [width, -height], [width, height], [-width, height]]
    return np.array(at) + np.array(corners) / 2


def turned(polygon, angle):
    turn = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    return polygon @ turn


def wound(outer, inner=None, *, layers=2, ohm=5.0, coverage=0.5):
    return PlacedWinding(
        outer=outer, inner=inner, coverage=(coverage,) * layers, resistance_20c=(ohm / layers,) * layers
    )


def coil(at=(0.0, 0.0), outer=10e-3, inner=2.5e-3, **more):
    return wound(circle(outer, at), circle(inner, at), **more)


def plate(outline, *windings, layers=2, copper=35e-6, air=None, **more):
    return Plate(
        outline=outline,
        layers=(SheetLayer(thickness=copper),) * layers,
        dielectric=(1.5e-3 / (layers - 1),) * (layers - 1),
        laminate=LAMINATE,
        windings=windings,
        surroundings=air or Surroundings(),
        **more,
    )


def linear(outline, *windings, **more):
    """A plate whose rise goes with its heat: forced convection alone, resistance that does not grow."""
    return plate(
        outline,
        *windings,
        air=Surroundings(**CALM),
        emissivity=0.0,
        temperature_coefficient=0.0,
        **more,
    )


def thin(outline, *windings, sheet=1e-3):
    """A linear plate of next to no thickness: no rim, no difference between its faces; sheet in W/K."""
    thickness = 1e-6
    return Plate(
        outline=outline,
        layers=(SheetLayer(thickness=0.0),) * 2,
        dielectric=(thickness,),
        laminate=Laminate(
            conductivity=1.0, conductivity_in_plane=sheet / thickness, density=1e3, heat_capacity=1e3
        ),
        windings=windings,
        surroundings=Surroundings(**CALM),
        emissivity=0.0,
        temperature_coefficient=0.0,
    )


def steel(outline, face="bottom", name="base", **more):
    return PlacedBody(
        name=name,
        face=face,
        outline=outline,
        thickness=2e-3,
        conductivity=50.0,
        density=7850.0,
        heat_capacity=470.0,
        contact=2e-4,
        **more,
    )


def amperes(*currents, on=1.0):
    """A circuit for each winding whose current is not 0."""
    return tuple(
        Circuit(supply=Supply(current=current, on_share=on), windings=(number,))
        for number, current in enumerate(currents)
        if current
    )


def volts(*voltages, **more):
    return tuple(
        Circuit(supply=Supply(voltage=voltage, **more), windings=(number,))
        for number, voltage in enumerate(voltages)
    )
