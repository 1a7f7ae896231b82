"""Magnets of every form, and the same ones as magpylib has them."""

import magpylib
import numpy as np

from coilgen.physics.core.charge_field import boxes_flux_density
from coilgen.physics.core.magnet_force import pole_charges
from coilgen.physics.core.magnet_side import Magnet

MAGNETS = {
    "disc": Magnet(form="disc", size=(5e-3, 5e-3), height=2e-3, remanence=1.2, centre=(0, 0, 2e-3)),
    "disc across": Magnet(
        form="disc", size=(5e-3, 5e-3), height=2e-3, remanence=1.2, pole=(1, 0, 0), centre=(1e-3, 0, 2.5e-3)
    ),
    "ring": Magnet(
        form="ring", size=(6e-3, 6e-3), hole=3e-3, height=2e-3, remanence=1.1, centre=(0.5e-3, 1e-3, 2e-3)
    ),
    "block": Magnet(
        form="block",
        size=(4e-3, 6e-3),
        height=3e-3,
        remanence=1.3,
        pole=(0.3, 0, 1),
        centre=(1e-3, -1e-3, 3e-3),
    ),
}


def magpylib_source(magnet):
    direction = np.array(magnet.pole) / np.linalg.norm(magnet.pole)
    polarization, position = magnet.remanence * direction, magnet.centre
    if magnet.form == "block":
        size = (*magnet.size, magnet.height)
        return magpylib.magnet.Cuboid(polarization=polarization, dimension=size, position=position)
    if magnet.form == "disc":
        size = (magnet.size[0], magnet.height)
        return magpylib.magnet.Cylinder(polarization=polarization, dimension=size, position=position)
    size = (magnet.hole / 2, magnet.size[0] / 2, magnet.height, 0, 360)
    return magpylib.magnet.CylinderSegment(polarization=polarization, dimension=size, position=position)


def magnet_flux_density(magnet, points):
    """Flux density (n, 3) T at points (n, 3) m, of all pole charges at each."""
    where, charge = pole_charges(magnet)
    return boxes_flux_density(np.column_stack([where, np.zeros((len(where), 3)), charge]), points)
