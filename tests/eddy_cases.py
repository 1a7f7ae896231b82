"""Windings all in series, for tests of the eddy currents in their copper."""

import numpy as np

from coilgen.physics.eddy.current import impedance_changes


def change(conductor, resistivity, frequency):
    """What eddy currents add in series, complex, (n,) ohm at (n,) Hz."""
    carried = np.ones((1, len(conductor.layer)))
    return impedance_changes(conductor, resistivity, frequency, carried)[:, 0, 0]


def rise_and_fall(conductor, resistivity, frequency):
    """Of the resistance, ohm, and of the inductance, H; (n,) at (n,) Hz over 0."""
    added = change(conductor, resistivity, frequency)
    return added.real, -added.imag / (2 * np.pi * frequency)
