"""Flux of a row of alternating magnets through a coil, against the row's place along x."""

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.physics.field.filaments import Filaments
from coilgen.physics.mover.along_row import at_even_places
from coilgen.physics.mover.magnets import Magnets, Part, by_distance
from coilgen.physics.mover.path import Across, Level, across, details, levels
from coilgen.physics.mover.potential import ends_potential
from coilgen.physics.mover.ring import Pieces, odd, of_all, of_pieces

Complexes = NDArray[np.complex128]
_FINE = 5.0
"""Steps along the row in the distance that tells how finely its field is to be sampled."""
_LAGRANGE, _HARMONICS = 8, 8


@dataclass(frozen=True, kw_only=True)
class Passing:
    """Flux of one magnet, Wb, through a coil at the origin, with the magnet at places (n,) m, evenly spaced.

    pitch_factor, loss: as of a ring, for a long row: per metre and second in place of radians.
    """

    places: Floats
    linkage: Floats
    pitch_factor: float
    loss: float


def passing(path: Filaments, magnet: Magnets, pitch: float, farthest: float, resistivity: float) -> Passing:
    """Of a coil, a closed path with every layer about the origin, and one magnet whose place runs along x.

    magnet: one, or the whole strip's part of one pole, at the origin. pitch: of the poles, m. farthest: m,
    that the magnet goes to either side.
    """
    faces = tuple(face for sheet in magnet.sheets for face in sheet)
    found = list(levels(path, faces))
    size = float(np.ptp(np.concatenate([level.at[:, 0] for level in found])))
    fine = min(details(level, size) for level in found)
    step = pitch / np.ceil(_FINE * pitch / fine)
    count = int(np.ceil(farthest / step))
    parts = [_of_level(level, magnet, step, count, pitch, size, resistivity) for level in found]
    factor, loss = of_all([pieces for _, pieces in parts])
    return Passing(
        places=step * np.arange(-count, count + 1),
        linkage=np.asarray(sum(linkage for linkage, _ in parts)),
        pitch_factor=factor,
        loss=loss,
    )


def _of_level(
    level: Level, magnet: Magnets, step: float, count: int, pitch: float, size: float, resistivity: float
) -> tuple[Floats, Pieces]:
    """Linkage (n,) Wb and what the strips give."""
    fine = details(level, size)
    nodes = across(level.at[:, 1], fine)
    reach = count + int(np.ceil(float(np.abs(level.at[:, 0]).max()) / step)) + _LAGRANGE
    potential = _potential(nodes, level.height, fine, magnet, step * np.arange(-reach, reach + 1.0))
    linkage = _linkage(level, nodes, potential, step, count, reach)
    orders = odd(np.pi / pitch, _HARMONICS)
    field = _upward(nodes, _harmonics(potential, step, reach, orders, pitch), orders)
    phase = level.at[:, 0] * orders[0]
    across_motion = level.along[:, 1]
    return linkage, of_pieces(level, nodes, level.at[:, 1], phase, across_motion, field, orders, resistivity)


def _potential(nodes: Across, height: float, fine: float, magnet: Magnets, places: Floats) -> Floats:
    """A (2, m, n) T m along x and y at the nodes of y and at places of x, even about the magnet.

    All forms look alike from east and west.
    """

    ends, east = np.array([nodes.low, nodes.high]), places[len(places) // 2 :]
    found = np.zeros((2, len(nodes.nodes), len(east)))
    for part in by_distance(magnet.sheets, height, height, fine):
        own = across(ends, part.fine)
        found += own.weights(nodes.nodes) @ _of_part(own.nodes, height, magnet, part, east)
    west = found[:, :, :0:-1] * np.array([1.0, -1.0])[:, None, None]
    return np.concatenate([west, found], axis=2)


def _of_part(beside: Floats, height: float, magnet: Magnets, part: Part, east: Floats) -> Floats:
    """What some end faces give, (2, m, n) T m, at places beside the magnet (m,) and east of it (n,) m."""

    def field(some: Floats) -> Floats:
        x, y = np.meshgrid(some, beside)
        flat = np.column_stack([x.ravel(), y.ravel()])
        found = ends_potential(flat, height, magnet, part.ends, part.fine)
        return np.moveaxis(found.reshape(*x.shape, 2), 2, 0)

    return at_even_places(field, east, magnet, part.fine)


def _linkage(level: Level, nodes: Across, potential: Floats, step: float, count: int, reach: int) -> Floats:
    """Flux with the magnet at -count ... count steps: the path spread over the grid, then passed along it."""
    spread = _spread(level, nodes, step, reach)
    length = spread.shape[2] + 2 * count
    total = np.zeros(length // 2 + 1, dtype=np.complex128)
    for axis in (0, 1):
        transform = np.fft.rfft(spread[axis], length, axis=1)
        total += np.einsum("mk,mk->k", transform, np.fft.rfft(potential[axis], length, axis=1).conj())
    around = np.fft.irfft(total, length)
    return np.asarray(around[np.arange(-count, count + 1) % length])


def _spread(level: Level, nodes: Across, step: float, reach: int) -> Floats:
    """The path's steps (2, m, n) m by nodes of y and places of x, by Lagrange's polynomials along x."""
    from scipy.sparse import csr_array

    places = level.at[:, 0] / step + reach
    first = np.floor(places).astype(np.int64) - _LAGRANGE // 2 + 1
    weights = _lagrange(places - first)
    rows = np.repeat(np.arange(len(places)), _LAGRANGE)
    columns = (first[:, None] + np.arange(_LAGRANGE)).ravel()
    along = csr_array((weights.ravel(), (columns, rows)), shape=(2 * reach + 1, len(places)))
    beside = nodes.weights(level.at[:, 1])
    return np.stack([(along @ (beside * level.along[:, axis, None])).T for axis in (0, 1)])


def _lagrange(places: Floats) -> Floats:
    """Weights (n, 8) of values at 0 ... 7 for places (n,) between 3 and 4."""
    found = np.ones((len(places), _LAGRANGE))
    for k in range(_LAGRANGE):
        for other in range(_LAGRANGE):
            if other != k:
                found[:, k] *= (places - other) / (k - other)
    return found


def _harmonics(potential: Floats, step: float, reach: int, orders: Floats, pitch: float) -> Complexes:
    """Of a long row of alternating magnets (2, m, k), from one magnet's potential: its Fourier integral."""
    waves = np.exp(-1j * np.outer(step * np.arange(-reach, reach + 1), orders))
    return np.asarray(potential @ waves * (2.0 * step / pitch))


def _upward(nodes: Across, potential: Complexes, orders: Floats) -> Complexes:
    """Harmonics (m, k) of the flux density along z, T: the curl of A."""
    return np.asarray(1j * orders * potential[1] - nodes.slope() @ potential[0])


@dataclass(frozen=True, kw_only=True)
class Row:
    """A finite row that passes a coil: flux and its slope with the row's middle at a place, m."""

    passing: Passing
    offsets: Floats
    signs: Floats

    def linkage(self, places: Floats, slope: int = 0) -> Floats:
        """Wb with the row's middle at places (n,) m from the coil, or its derivative along x, Wb/m."""
        from scipy.interpolate import make_interp_spline

        curve = make_interp_spline(self.passing.places, self.passing.linkage, k=7)
        each = curve(places[:, None] + self.offsets, nu=slope)
        return np.asarray(each @ self.signs)


def row(passed: Passing, poles: int, pitch: float) -> Row:
    """Magnets at even distances about the row's middle, the first, in the west, with its north pole up."""
    offsets = pitch * (np.arange(poles) - 0.5 * (poles - 1))
    signs = np.where(np.arange(poles) % 2, -1.0, 1.0)
    return Row(passing=passed, offsets=np.asarray(offsets, dtype=np.float64), signs=signs)
