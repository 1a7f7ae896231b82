"""Two windings face to face: mutual inductance of all their pieces, and the force between their currents."""

from collections.abc import Mapping
from dataclasses import fields, replace

import numpy as np

from coilgen.physics.biot_savart import path_flux_density
from coilgen.physics.conductor import Conductor
from coilgen.physics.filaments import Filaments, lifted, refined, strands
from coilgen.physics.winding_inductance import layer_inductances

Shares = Mapping[int, float]


def mutual_inductance(
    one: Conductor, other: Conductor, height: float, shares: tuple[Shares, Shares] | None = None
) -> float:
    """Flux of one ampere in one winding through all turns of the other, H.

    height: m, of the other's origin over the first one's, on the same axis. shares: of each winding's
    current by copper layer; all of it in every layer when left out. Uniform current, leads included, the
    vias and whatever closes the circuits left out; see `winding_inductance`.
    """
    beyond = int(one.layer.max())
    above = replace(other, z=other.z + height, layer=other.layer + beyond)
    found = layer_inductances(_both(one, above))
    layers = np.array(found.layers)
    first, second = layers[layers <= beyond], layers[layers > beyond] - beyond
    own, others = shares or (dict.fromkeys(first, 1.0), dict.fromkeys(second, 1.0))
    block = found.matrix[: len(first), len(first) :]
    return float(np.array([own[k] for k in first]) @ block @ np.array([others[k] for k in second]))


def _both(one: Conductor, other: Conductor) -> Conductor:
    names = [field.name for field in fields(Conductor)]
    return Conductor(**{name: np.concatenate([getattr(one, name), getattr(other, name)]) for name in names})


def force_between(source: Filaments, other: Filaments, height: float) -> float:
    """Axial force (N) on a closed path that carries one ampere, in the field of another with one ampere.

    height: m, of the other's origin over the source's, on the same axis. The sum of I dl x B (J. D. Jackson,
    Classical Electrodynamics, section 5.2) over two filaments in place of every strip, cut no longer than
    half the height between the windings. Raises ValueError for an open path.
    """
    path = lifted(other, np.array([0.0, 0.0, height]))
    longest = max(0.5 * _height_between(source, path), 0.5e-3)
    total = 0.0
    for strand in strands(path):
        cut = refined(strand, longest)
        field = path_flux_density(source, 0.5 * (cut.start + cut.end))
        total += 0.5 * float(cut.shares @ np.cross(cut.end - cut.start, field)[:, 2])
    return total


def _height_between(one: Filaments, other: Filaments) -> float:
    above = float(other.start[:, 2].min() - one.start[:, 2].max())
    below = float(one.start[:, 2].min() - other.start[:, 2].max())
    return max(above, below, 0.0)
