"""Field energy between the magnetic charges of a brick grid, by Fourier transforms in x and y."""

from dataclasses import replace
from functools import cached_property
from itertools import product

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.physics.core.brick_charges import Faces, Planes, face_areas, planes, sides
from coilgen.physics.core.brick_grid import BrickGrid
from coilgen.physics.core.far_windows import FarWindows, far_windows, windows
from coilgen.physics.field.filaments import Indices

Complexes = NDArray[np.complex128]
# Along x, y, z: whether cells, x faces, y faces and z faces extend.
_EXTENDS = ((1, 1, 1), (0, 1, 1), (1, 0, 1), (1, 1, 0))


Pair = tuple[int, int, int, int, int]
"""Of planes: their kinds, extents and distance, pm."""


@dataclass(frozen=True, kw_only=True)
class Interaction:
    """Mean of 1 / 4 pi r between all planes' charges, and how to sum it in the Fourier domain.

    tables: (nu, nx + 1, ny + 1) 1/m over offsets in the first quadrant, of cells and halves (nu, 2): whether
    they are half a cell more along x and y. which: (np, np), each pair's table, any where no charge is;
    number: that of each distinct pair; shape: padded window; shift: (4, nf), each kind's phase. cell: m;
    windows: (w, 2), the first cells of windows that hold all charge, of places nx by ny cells; far: what
    those of one do in others. stands: where charge is, of cells and of faces across x, y, z; charged: (np,),
    which planes hold it: levels within a body do not.
    """

    tables: Floats
    halves: NDArray[np.bool_]
    which: Indices
    number: "dict[Pair, int]"
    places: tuple[int, int]
    cell: tuple[float, float]
    shape: tuple[int, int]
    shift: Complexes
    planes: Planes
    stands: tuple[NDArray[np.bool_], ...]
    charged: NDArray[np.bool_]
    windows: Indices
    far: FarWindows | None

    @property
    def near(self) -> Floats:
        """The tables at the smallest offsets, for the diagonal, (nu, 2, 2)."""
        return self.tables[:, :2, :2]

    @cached_property
    def spectra(self) -> Floats:
        """Fourier transforms of the tables' even periodic continuations, (nu, nf) 1/m; real, being even."""
        found = np.empty((len(self.tables), self.shift.shape[1]))
        for half_x, half_y in product((False, True), repeat=2):
            mine = np.flatnonzero(np.all(self.halves == (half_x, half_y), axis=1))
            rows = _cosines(_steps(self.shape[0], whole=True), self.tables.shape[1], half_x)
            columns = _cosines(_steps(self.shape[1], whole=False), self.tables.shape[2], half_y)
            found[mine] = (rows @ self.tables[mine] @ columns.T).reshape(len(mine), found.shape[1])
        return found

    @property
    def of_each(self) -> Floats:
        """Of every two charges (c, c) 1/m, in the order of `seats`; of one window. Large: not kept."""
        planes, along, across = [], [], []
        sheets = np.split(np.arange(len(self.charged)), np.cumsum([len(each) for each in self.stands])[:-1])
        for number, kind, stands in zip(sheets, _EXTENDS, self.stands, strict=True):
            plane, i, j = np.nonzero(stands)
            planes.append(number[plane])
            along.append(2 * i + kind[0])  # in halves of cells
            across.append(2 * j + kind[1])
        plane, x, y = (np.concatenate(each) for each in (planes, along, across))
        off_x, off_y = (np.abs(each[:, None] - each) // 2 for each in (x, y))
        return np.asarray(self.tables[self.which[plane[:, None], plane], off_x, off_y])

    @cached_property
    def among(self) -> Indices:
        """Spectra of pairs of charged planes."""
        return np.ascontiguousarray(self.which[np.ix_(self.charged, self.charged)])

    @cached_property
    def kinds(self) -> list[tuple[NDArray[np.bool_], slice]]:
        """For each kind of planes: which of them are charged, and where these are among all charged ones."""
        masks = [self.charged[self.planes.kind == kind] for kind in range(4)]
        ends = np.cumsum([int(np.count_nonzero(mask)) for mask in masks])
        return [(mask, slice(end - int(mask.sum()), end)) for mask, end in zip(masks, ends, strict=True)]

    @cached_property
    def parts(self) -> list[list[tuple[slice, slice]]]:
        """For each window where its places along x and y are, for each kind of planes."""
        (nx, ny), more = self.places, [(0, 0), (1, 0), (0, 1), (0, 0)]
        return [
            [(slice(i, i + nx + x), slice(j, j + ny + y)) for x, y in more] for i, j in self.windows.tolist()
        ]

    @cached_property
    def seats(self) -> tuple[Indices, NDArray[np.bool_]]:
        """Where charges are in windows of all charged planes, flat of (w, p, nx + 1, ny + 1): those of cells,
        then of faces across x, y, z, each in a row; and which rows (w, p, nx + 1) hold any."""
        nx, ny = self.places
        planes = np.zeros((len(self.windows), len(self.among), nx + 1, ny + 1), dtype=np.int64)
        last = 0
        for number, ((mask, rows), stands) in enumerate(zip(self.kinds, self.stands, strict=True)):
            named = np.zeros(stands.shape, dtype=np.int64)
            count = int(np.count_nonzero(stands))
            named[stands] = np.arange(last + 1, last + 1 + count)
            last += count
            for window, own in zip(planes, self.parts, strict=True):
                inside = named[:, *own[number]][mask]
                window[rows, : inside.shape[1], : inside.shape[2]] = inside
        flat = np.flatnonzero(planes)
        return flat[np.argsort(planes.reshape(-1)[flat])], np.asarray(planes.any(axis=-1))

    @cached_property
    def back(self) -> Complexes:
        """(4, nf), each kind's phase from where its charges are."""
        return np.asarray(self.shift.conj())


def interaction(
    grid: BrickGrid, *, moved: Floats | None = None, known: Interaction | None = None
) -> Interaction:
    """Mean of 1 / 4 pi r for all pairs of planes.

    moved: (np,) m, by how much each plane stands higher than in the grid, all of which is one window then.
    known: that of another grid, from which pairs of the same kinds, extents and distances are taken where its
    cells are the same.
    """
    sheets = planes(grid)
    if moved is not None:
        sheets = Planes(kind=sheets.kind, middle=sheets.middle + moved, extent=sheets.extent)
    alone = np.zeros((1, 2), dtype=np.int64), (int(grid.body.shape[1]), int(grid.body.shape[2]))
    first, (nx, ny) = windows(grid) if moved is None else alone
    shape = (_fast_length(2 * nx + 2), _fast_length(2 * ny + 2))
    shift = _shifts(shape).reshape(4, -1)
    lower, upper = sides(grid)
    stands = grid.filled, lower.x != upper.x, lower.y != upper.y, lower.z != upper.z
    charged = np.concatenate([kind.any(axis=(1, 2)) for kind in stands])
    which, pairs, number = _distinct_pairs(sheets, charged)
    tables, orders = np.empty((len(pairs), nx + 1, ny + 1)), [_orders(sheets, *pair) for pair in pairs]
    had = known.number if known is not None and (known.places, known.cell) == ((nx, ny), grid.cell) else {}
    for (a, b), (pair, k) in zip(pairs, number.items(), strict=True):
        if known is not None and pair in had:
            tables[k] = known.tables[had[pair]]
        else:
            tables[k] = _table(grid, (nx, ny), sheets, a, b, orders[k])
    return Interaction(
        tables=tables,
        halves=np.array(orders)[:, :2] == 1,
        which=which,
        number=number,
        places=(nx, ny),
        cell=grid.cell,
        shape=shape,
        shift=shift,
        planes=sheets,
        stands=stands,
        charged=charged,
        windows=first,
        far=far_windows(grid, first, (nx, ny), charged),
    )


def rise(low: Interaction, high: Interaction) -> Interaction:
    """What a grid's interaction rises by from where some planes are lower to where they are higher.

    It is 0 for pairs that stay as they are, of which none is kept.
    """
    both, which = np.unique(low.which * len(high.tables) + high.which, return_inverse=True)
    below, above = np.divmod(both, len(high.tables))
    pairs = [list(each.number) for each in (low, high)]
    changed = np.array([pairs[0][a] != pairs[1][b] for a, b in zip(below, above, strict=True)])
    row = np.where(changed, np.cumsum(changed), 0)

    none = np.zeros((1, *high.tables.shape[1:]))
    return replace(
        high,
        tables=np.concatenate([none, high.tables[above[changed]] - low.tables[below[changed]]]),
        halves=np.concatenate([[[False, False]], high.halves[above[changed]]]),
        which=row[which].reshape(low.which.shape),
        number={},
    )


def _fast_length(least: int) -> int:
    """The next product of twos, threes and fives: such lengths are transformed fast."""
    length = least
    while True:
        rest = length
        for factor in (2, 3, 5):
            while rest % factor == 0:
                rest //= factor
        if rest == 1:
            return length
        length += 1


def _distinct_pairs(
    sheets: Planes, charged: NDArray[np.bool_]
) -> "tuple[Indices, list[tuple[int, int]], dict[Pair, int]]":
    """Pairs of charged planes that differ in kind, extents or distance, which of them each pair (a, b) is,
    and the number of each."""
    count = len(sheets.kind)
    which = np.zeros((count, count), dtype=np.int64)
    number: dict[Pair, int] = {}
    pairs: list[tuple[int, int]] = []
    kind, extent = sheets.kind.tolist(), np.round(1e12 * sheets.extent).astype(np.int64).tolist()
    apart = np.round(1e12 * np.abs(np.subtract.outer(sheets.middle, sheets.middle))).astype(np.int64).tolist()
    present = np.flatnonzero(charged).tolist()
    for a in present:
        for b in present[: present.index(a) + 1]:
            first, second = sorted((a, b), key=lambda k: (kind[k], extent[k]))
            pair = (kind[first], kind[second], extent[first], extent[second], apart[a][b])
            if pair not in number:
                number[pair] = len(pairs)
                pairs.append((first, second))
            which[a, b] = which[b, a] = number[pair]
    return which, pairs, number


def _orders(sheets: Planes, a: int, b: int) -> Indices:
    """How many of two planes' charges extend along x, y and z, (3,)."""
    first, second = (np.array(_EXTENDS[sheets.kind[each]], dtype=np.int64) for each in (a, b))
    return first + second


def _table(grid: BrickGrid, size: tuple[int, int], sheets: Planes, a: int, b: int, orders: Indices) -> Floats:
    """Mean of 1 / 4 pi r over offsets in the first quadrant, one more than the size."""
    from coilgen.physics.core.brick_kernels import mean_inverse_distances

    mean = mean_inverse_distances(
        orders,
        *grid.cell,
        *size,
        abs(float(sheets.middle[a] - sheets.middle[b])),
        float(sheets.extent[a]),
        float(sheets.extent[b]),
    )
    return np.asarray(mean / (4.0 * np.pi))


def _steps(length: int, *, whole: bool) -> Floats:
    """Frequencies of a transform of this length, of a step; not whole: of one of real values."""
    found = np.fft.fftfreq(length) if whole else np.fft.rfftfreq(length)
    return np.asarray(found, dtype=np.float64)


def _cosines(frequency: Floats, count: int, half: bool) -> Floats:
    """What values at so many offsets, and at the same ones below 0, are at frequencies (n,), (n, count).

    half: offsets are half a cell more; the last is then one too many.
    """
    weight = np.full(count, 2.0)
    weight[-1 if half else 0] = 0.0 if half else 1.0
    return np.asarray(weight * np.cos(2.0 * np.pi * np.outer(frequency, np.arange(count) + 0.5 * half)))


def _half_cell(shape: tuple[int, int]) -> tuple[Complexes, Complexes]:
    """Phase of a shift by half a cell along x (n, 1) and along y (1, m)."""
    kx = np.fft.fftfreq(shape[0])[:, None]
    ky = np.fft.rfftfreq(shape[1])[None, :]
    return np.exp(-1j * np.pi * kx), np.exp(-1j * np.pi * ky)


def _shifts(shape: tuple[int, int]) -> Complexes:
    """Phase that puts each kind's charges from the cell's corner to their middles, (4, n, m)."""
    px, py = _half_cell(shape)
    one = np.ones((shape[0], shape[1] // 2 + 1))
    return np.stack([px * py * one, py * one, px * one, px * py * one])


def potentials(between: Interaction, charge: Floats) -> Floats:
    """Mean potential (A) of all charges (c,) A m over each of their places."""
    from scipy.fft import fft, ifft, irfft, rfft

    from coilgen.physics.core.brick_kernels import summed_over_planes

    (nx, ny), (long, wide), (seats, rows) = between.places, between.shape, between.seats
    planes = np.zeros((len(between.windows), len(between.among), nx + 1, ny + 1))
    planes.reshape(-1)[seats] = charge
    # Rows first, so that those of the padding and those without charge are not transformed.
    spectra = np.zeros((*planes.shape[:2], long, wide // 2 + 1), dtype=np.complex128)
    spectra[:, :, : nx + 1][rows] = rfft(planes[rows], n=wide, axis=1)
    spectra = fft(spectra, axis=2, overwrite_x=True)
    sent = spectra.reshape(*planes.shape[:2], -1)
    for (_, own), shift in zip(between.kinds, between.shift, strict=True):
        sent[:, own] *= shift
    found = np.stack([summed_over_planes(between.spectra, between.among, each) for each in sent])
    for (_, own), shift in zip(between.kinds, between.back, strict=True):
        found[:, own] *= shift
    potential = ifft(found.reshape(spectra.shape), axis=2, overwrite_x=True)
    whole = np.zeros_like(planes)
    whole[rows] = irfft(potential[:, :, : nx + 1][rows], n=wide, axis=1, overwrite_x=True)[:, : ny + 1]
    if between.far is not None:
        between.far.add_potentials(planes, [own for _, own in between.kinds], whole)
    return np.asarray(whole.reshape(-1)[seats])


def self_energies(grid: BrickGrid, outer: Faces, between: Interaction) -> Faces:
    """Diagonal of the energy in the faces' magnetisation: what one face's own charges feel of each other."""
    lower, upper = sides(grid)
    nz, nl = len(grid.thickness), len(grid.level)
    first = np.array([0, nz, 2 * nz, 3 * nz])

    def near(a: Indices, b: Indices, i: int, j: int) -> Floats:
        return np.asarray(between.near[between.which[a, b], i, j][:, None, None])

    cell, sheet = np.arange(nz), np.arange(nl)
    own = near(cell, cell, 0, 0)
    x = _pairs(lower.x, upper.x, outer.x, own, own, near(cell, cell, 1, 0))
    x += np.abs(outer.x) * (
        near(first[1] + cell, first[1] + cell, 0, 0) - 2 * near(cell, first[1] + cell, 0, 0)
    )
    y = _pairs(lower.y, upper.y, outer.y, own, own, near(cell, cell, 0, 1))
    y += np.abs(outer.y) * (
        near(first[2] + cell, first[2] + cell, 0, 0) - 2 * near(cell, first[2] + cell, 0, 0)
    )
    under, over = np.zeros(nl, dtype=np.int64), np.zeros(nl, dtype=np.int64)
    under[grid.high], over[grid.low] = cell, cell
    z = _pairs(
        lower.z, upper.z, outer.z, near(under, under, 0, 0), near(over, over, 0, 0), near(under, over, 0, 0)
    )
    beside = np.where(outer.z > 0, near(under, first[3] + sheet, 0, 0), near(over, first[3] + sheet, 0, 0))
    z += np.abs(outer.z) * (near(first[3] + sheet, first[3] + sheet, 0, 0) - 2 * beside)
    ax, ay, az = face_areas(grid)
    return Faces(x=ax**2 * x, y=ay**2 * y, z=az**2 * z)


def _pairs(
    lower: Floats, upper: Floats, outer: Floats, own_low: Floats, own_high: Floats, cross: Floats
) -> Floats:
    inner = (outer == 0.0) & (lower > 0.0)
    return np.asarray(lower * own_low + upper * own_high - 2.0 * inner * cross)
