"""Two windings face to face: mutual inductance of all their pieces, and the force between their currents."""

from collections.abc import Mapping
from dataclasses import fields, replace

import numpy as np

from coilgen.physics.base.conductor import Conductor, Floats
from coilgen.physics.field.biot_savart import path_flux_density, path_vector_potential
from coilgen.physics.field.filaments import Filaments, Indices, lifted, refined, strands
from coilgen.physics.inductance.winding import layer_inductances

Shares = Mapping[int, float]
_SAME_PLACE = 1e-9


def mutual_inductance(
    one: Conductor, other: Conductor, height: float, shares: tuple[Shares, Shares] | None = None
) -> float:
    """Flux of one ampere in one winding through all turns of the other, H.

    height: m, of the other's origin over the first one's, on the same axis. shares: of each winding's
    current by copper layer; all of it in every layer when left out. Uniform current, leads included, each
    winding closed straight from its end to its start, vias left out; see `winding_inductance`.
    Its pieces nearly cancel when far apart: farther off than half a radius take `linkage_between`.
    """
    first, second = (_closed(each) for each in (one, other))
    beyond = int(first.layer.max())
    above = replace(second, z=second.z + height, layer=second.layer + beyond)
    found = layer_inductances(_joined(first, above))
    layers = np.array(found.layers)
    own = _weights(layers[layers <= beyond], shares and shares[0])
    others = _weights(layers[layers > beyond] - beyond, shares and shares[1])
    return float(own @ found.matrix[: len(own), len(own) :] @ others)


def _weights(layers: Indices, shares: Shares | None) -> Floats:
    """Share of the current in each layer; all of it in the link, which no winding's shares know."""
    return np.array([1.0 if shares is None else shares.get(int(k), 1.0) for k in layers])


def _closed(winding: Conductor) -> Conductor:
    """The winding with a straight link from its last end to its first start, on a layer of its own."""
    first, last = winding.start[:1], winding.end[-1:]
    if float(np.hypot(*(first - last)[0])) <= _SAME_PLACE:
        return winding
    return _joined(
        winding,
        Conductor(
            start=last,
            end=first,
            centre=np.full((1, 2), np.nan),
            sweep=np.zeros(1),
            width=winding.width[-1:],
            thickness=winding.thickness[-1:],
            z=winding.z[-1:],
            layer=winding.layer.max(keepdims=True) + 1,
        ),
    )


def _joined(one: Conductor, other: Conductor) -> Conductor:
    names = [field.name for field in fields(Conductor)]
    return Conductor(**{name: np.concatenate([getattr(one, name), getattr(other, name)]) for name in names})


def linkage_between(source: Filaments, other: Filaments, height: float) -> float:
    """Flux (Wb) of a closed path that carries one ampere through another: their mutual inductance in H.

    height: m, of the other's origin over the source's, on the same axis; strips count as filaments, cut no
    longer than half the height between the windings. Neumann's formula, the line integral of A along the
    path by Gauss's two points; good from a width of the strips on, and however far.
    """
    path = lifted(other, np.array([0.0, 0.0, height]))
    return _linkage(source, refined(path, max(0.5 * _height_between(source, path), 0.5e-3)))


def linkage_apart(source: Filaments, other: Filaments) -> float:
    """Mutual inductance, H, of two closed paths that lie anywhere clear of each other, each at one ampere.

    As `linkage_between`, but the path is cut no longer than half its clearance from the source, piece by
    piece, so that pieces which run side by side count exactly and far ones cost little.
    """
    return _linkage(source, _cut_by_clearance(source, other))


def force_apart(source: Filaments, other: Filaments) -> Floats:
    """Force, (3,) N, on a closed path in the field of another clear of it, each at one ampere.

    As `force_between`, for paths that lie anywhere.
    """
    return force_and_torque_apart(source, other, np.zeros(3))[0]


def force_and_torque_apart(source: Filaments, other: Filaments, about: Floats) -> tuple[Floats, Floats]:
    """As `force_apart`, and the torque about a point (3,) m: (3,) N and (3,) N m, each at one ampere."""
    force, torque = np.zeros(3), np.zeros(3)
    for strand in strands(other):
        cut = _cut_by_clearance(source, strand)
        step = cut.end - cut.start
        for share in _GAUSS:
            at = cut.start + share * step
            pulls = 0.5 * cut.shares[:, None] * np.cross(step, path_flux_density(source, at))
            force += pulls.sum(axis=0)
            torque += np.cross(at - about, pulls).sum(axis=0)
    return force, torque


_LEAST_CUT = 1e-4
"""m, of a piece that touches the source."""
_OF_CLEARANCE = 0.5
_SAMPLES = 5e-4
"""m, between the source's points by which clearances are told."""
_LONGEST = 4e-3
"""m, of a part anywhere."""
_GAUSS = 0.5 + np.array([-0.5, 0.5]) / np.sqrt(3.0)
_PLACES = np.linspace(0.0, 1.0, 5)
"""Along a part, at which its clearance is told."""


def _cut_by_clearance(source: Filaments, path: Filaments) -> Filaments:
    """The path in parts no longer than half of how far each of them is from the source, m."""
    from scipy.spatial import cKDTree

    ends = refined(source, _SAMPLES)
    tree = cKDTree(np.concatenate([ends.start, ends.end]))
    cut = refined(path, _LONGEST)
    while True:
        length = np.linalg.norm(cut.end - cut.start, axis=1)
        places = cut.start + _PLACES[:, None, None] * (cut.end - cut.start)
        away = tree.query(places.reshape(-1, 3))[0].reshape(len(_PLACES), -1).min(axis=0)
        long = length > np.maximum(_OF_CLEARANCE * away, _LEAST_CUT)
        if not long.any():
            return cut
        cut = refined(cut, np.where(long, 0.501 * length, 2.0 * length))


def _linkage(source: Filaments, cut: Filaments) -> float:
    """Line integral of the source's vector potential along a path, by Gauss's two points on each part."""
    step = cut.end - cut.start
    total = 0.0
    for at in _GAUSS:
        potential = path_vector_potential(source, cut.start + at * step)
        total += 0.5 * float(cut.shares @ np.einsum("nk,nk->n", potential, step))
    return total


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
        total += float(cut.shares @ np.cross(cut.end - cut.start, field)[:, 2])
    return total


def _height_between(one: Filaments, other: Filaments) -> float:
    above = float(other.start[:, 2].min() - one.start[:, 2].max())
    below = float(one.start[:, 2].min() - other.start[:, 2].max())
    return max(above, below, 0.0)
