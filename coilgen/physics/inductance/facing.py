"""Two windings face to face: mutual inductance of all their pieces, and the force between their currents."""

from collections.abc import Mapping, Sequence
from dataclasses import fields, replace

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
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
    winding closed straight from its end to its start, vias left out; see `layer_inductances`.
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


@dataclass(frozen=True, kw_only=True, eq=False)
class Cuts:
    """A path's parts in the order of its strips: strip (k,), and the shares of it where each part begins and
    ends, (k,)."""

    strip: Indices
    begin: Floats
    end: Floats

    def of(self, path: Filaments) -> Filaments:
        """The parts of the path itself, or of one whose strips run beside its."""
        start, way = path.start[self.strip], (path.end - path.start)[self.strip]
        return Filaments(
            start=start + self.begin[:, None] * way,
            end=start + self.end[:, None] * way,
            width=path.width[self.strip],
            thickness=path.thickness[self.strip],
            share=path.shares[self.strip],
        )


_LEAST_CUT = 1e-4
"""m, of a part that touches the source."""
_LONGEST, _OF_CLEARANCE = 6e-3, 0.5
"""m, of a part anywhere, and over its clearance; Gauss's two points on it then err by 1e-4 of a force and by
1e-5 of a mutual inductance, of coils that nearly touch."""
_SAMPLES = 5e-4
"""m, between the source's points by which clearances are told."""
_GAUSS = 0.5 + np.array([-0.5, 0.5]) / np.sqrt(3.0)
_PLACES = np.linspace(0.0, 1.0, 5)
"""Along a part, at which its clearance is told."""


def cut_by_clearance(source: Filaments, path: Filaments) -> Cuts:
    """A path cut into parts no longer than half of how far each is from the source, for what acts between two
    that lie anywhere clear of each other. Pieces that run side by side count exactly, far ones cost little.
    """
    from scipy.spatial import cKDTree

    ends = refined(source, _SAMPLES)
    tree = cKDTree(np.concatenate([ends.start, source.end]))
    length = np.linalg.norm(path.end - path.start, axis=1)
    count = len(length)
    left = _split(Cuts(strip=np.arange(count), begin=np.zeros(count), end=np.ones(count)), length / _LONGEST)
    done = []
    while len(left.strip):
        shares = left.begin + _PLACES[:, None] * (left.end - left.begin)
        places = path.start[left.strip] + shares[..., None] * (path.end - path.start)[left.strip]
        away = tree.query(places.reshape(-1, 3))[0].reshape(len(_PLACES), -1).min(axis=0)
        allowed = np.maximum(_OF_CLEARANCE * away, _LEAST_CUT)
        long = length[left.strip] * (left.end - left.begin) > allowed
        done.append(_some(left, ~long))
        left = _split(_some(left, long), np.full(count, 2.0))
    return _in_order(done)


def _split(cuts: Cuts, parts: Floats) -> Cuts:
    """Each in equal ones; parts: how many at least, by strip."""
    counts = np.maximum(1, np.ceil(parts)).astype(np.int64)[cuts.strip]
    owner = np.repeat(np.arange(len(counts)), counts)
    number = np.arange(len(owner)) - np.repeat(np.cumsum(counts) - counts, counts)
    step = ((cuts.end - cuts.begin) / counts)[owner]
    begin = cuts.begin[owner] + number * step
    return Cuts(strip=cuts.strip[owner], begin=begin, end=begin + step)


def _some(cuts: Cuts, which: NDArray[np.bool_]) -> Cuts:
    return Cuts(strip=cuts.strip[which], begin=cuts.begin[which], end=cuts.end[which])


def _in_order(found: Sequence[Cuts]) -> Cuts:
    strip, begin, end = (
        np.concatenate([getattr(each, name) for each in found]) for name in ("strip", "begin", "end")
    )
    order = np.lexsort([begin, strip])
    return Cuts(strip=strip[order], begin=begin[order], end=end[order])


def linkage_apart(source: Filaments, other: Filaments, cuts: Cuts | None = None) -> float:
    """Mutual inductance, H, of two closed paths that lie anywhere clear of each other, each at one ampere.

    As `linkage_between`, the path cut by its clearance; cuts: those of `cut_by_clearance`, if known.
    """
    return _linkage(source, (cuts or cut_by_clearance(source, other)).of(other))


def force_apart(source: Filaments, other: Filaments, cuts: Cuts | None = None) -> Floats:
    """Force, (3,) N, on a closed path in the field of another clear of it, each at one ampere.

    As `force_between`, for paths that lie anywhere; cuts: as in `linkage_apart`.
    """
    return force_and_torque_apart(source, other, np.zeros(3), cuts)[0]


def force_and_torque_apart(
    source: Filaments, other: Filaments, about: Floats, cuts: Cuts | None = None
) -> tuple[Floats, Floats]:
    """As `force_apart`, and the torque about a point (3,) m: (3,) N and (3,) N m, each at one ampere."""
    force, torque = np.zeros(3), np.zeros(3)
    known = cuts or cut_by_clearance(source, other)
    for strand in strands(other):
        cut = known.of(strand)
        step = cut.end - cut.start
        for share in _GAUSS:
            at = cut.start + share * step
            pulls = 0.5 * cut.shares[:, None] * np.cross(step, path_flux_density(source, at))
            force += pulls.sum(axis=0)
            torque += np.cross(at - about, pulls).sum(axis=0)
    return force, torque


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
