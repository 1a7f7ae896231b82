"""Boards and plates that the tests of heat share."""

import numpy as np

from coilgen.physics.heat.body import (
    Assembly,
    CopperLayer,
    Laminate,
    MountedPlate,
    Surroundings,
    WoundBoard,
)
from coilgen.physics.heat.network import network
from coilgen.physics.heat.outline import disc, rectangle

EPOXY_GLASS = Laminate(conductivity=0.3, conductivity_in_plane=0.8, density=1850, heat_capacity=1100)
FILM = Laminate(conductivity=0.15, conductivity_in_plane=0.2, density=1420, heat_capacity=1090)
CONDUCTS_PERFECTLY = Laminate(conductivity=1e5, conductivity_in_plane=1e5, density=1850, heat_capacity=1100)


def board(
    diameter=20e-3,
    inner=3e-3,
    outer=9.5e-3,
    resistance=5.0,
    layers=2,
    thickness=0.8e-3,
    laminate=EPOXY_GLASS,
    **more,
):
    copper = CopperLayer(thickness=35e-6, coverage=0.5, resistance_20c=resistance / layers)
    return WoundBoard(
        outline=disc(diameter),
        winding_inner_radius=inner,
        winding_outer_radius=outer,
        layers=(copper,) * layers,
        dielectric=(thickness / (layers - 1),) * (layers - 1),
        laminate=laminate,
        **more,
    )


def steel(side=40e-3, thickness=2e-3, contact=2e-3, band=(1e-3, 4e-3), conductivity=50.0, emissivity=0.3):
    return MountedPlate(
        outline=rectangle(side, side),
        thickness=thickness,
        conductivity=conductivity,
        density=7850,
        heat_capacity=470,
        contact=contact,
        contact_band=band,
        emissivity=emissivity,
    )


def bare(surroundings=None, **more):
    return Assembly(board=board(**more), surroundings=surroundings or Surroundings())


def on_steel(surroundings=None, plate=None, **more):
    return Assembly(board=board(**more), surroundings=surroundings or Surroundings(), bottom=plate or steel())


def one_node(alpha=0.0):
    """A board that conducts perfectly in a fan's wind, without radiation, and its time constant."""
    wound = board(laminate=CONDUCTS_PERFECTLY, emissivity=0.0)
    fan = Surroundings(ambient=20.0, forced_coefficient=30.0)
    net = network(Assembly(board=wound, surroundings=fan, temperature_coefficient=alpha))
    return net, net.capacity.sum() / (30.0 * net.face_area.sum())


def imbalance(state):
    """Heat made less heat lost, over heat made."""
    made = np.sum(state.power)
    return (made - sum(state.convected.values()) - sum(state.radiated.values())) / made
