"""What resists and what links the stream functions of a sheet grid."""

from collections.abc import Callable

import numpy as np

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.physics.base.constants import MU0
from coilgen.physics.field.filaments import Indices
from coilgen.physics.metal.brick_means import mean_inverse_distances
from coilgen.physics.metal.sheet_grid import SheetGrid

Operator = Callable[[Floats], Floats]


@dataclass(frozen=True, kw_only=True)
class SheetSystem:
    """R and L of a grid.

    resistance: (2, nz) ohm, of the branches that cross an edge along x and along y. links: (nz, nz, nf) H, L
    of each pair of layers in the Fourier domain of the padded grid (shape). axes, stretch: (nz, nz, modes)
    and (nz, modes), that make R and L of each sine mode diagonal: axes R axes = 1, axes L axes = stretch.
    """

    grid: SheetGrid
    resistance: Floats
    links: Floats
    shape: tuple[int, int]
    axes: Floats
    stretch: Floats

    def resisted(self, free: Floats) -> Floats:
        """R psi."""
        stream = np.pad(self.grid.spread(free), ((0, 0), (1, 1), (1, 1)))
        middle = stream[:, 1:-1, 1:-1]
        along_x = 2.0 * middle - stream[:, 2:, 1:-1] - stream[:, :-2, 1:-1]
        along_y = 2.0 * middle - stream[:, 1:-1, 2:] - stream[:, 1:-1, :-2]
        across, upward = self.resistance[:, :, None, None]
        return self.grid.gathered(across * along_x + upward * along_y)

    def linked(self, free: Floats) -> Floats:
        """L psi."""
        stream = self.grid.spread(free)
        waves = np.fft.rfft2(stream, s=self.shape)
        parts = np.stack([waves.real, waves.imag]).reshape(2, len(waves), -1)
        real, imaginary = np.einsum("abf,pbf->paf", self.links, parts)
        found = np.fft.irfft2((real + 1j * imaginary).reshape(waves.shape), s=self.shape)
        return self.grid.gathered(found[:, : stream.shape[1], : stream.shape[2]])

    def preconditioner(self, shift: float) -> Operator:
        """About (R + s L)^-1: that of the whole rectangle, whose L the sine modes nearly diagonalise."""
        shrunk = 1.0 / (1.0 + shift * self.stretch)
        square, layers = self.grid.metal.shape, len(self.grid.middle)
        along_x, along_y = (_sines(count) for count in square)

        def sines(stream: Floats) -> Floats:
            return np.asarray(along_x @ stream @ along_y)

        def apply(free: Floats) -> Floats:
            modes = sines(self.grid.spread(free)).reshape(layers, -1)
            modes = np.einsum("abm,am->bm", self.axes, modes) * shrunk
            modes = np.einsum("abm,bm->am", self.axes, modes)
            return self.grid.gathered(sines(modes.reshape(layers, *square)))

        return apply


def sheet_system(grid: SheetGrid) -> SheetSystem:
    """The kernels of a grid."""

    hx, hy = grid.cell
    nx, ny = (count + 1 for count in grid.metal.shape)
    resistance = np.array([hy / hx, hx / hy])[:, None] / (grid.conductivity * grid.thickness)
    shape = (_even(2 * nx), _even(2 * ny))
    which, pairs = _pairs(grid)
    spectra = np.array([_spectrum(grid, *pair, shape) for pair in pairs])
    axes, stretch = _sine_modes(grid, resistance, spectra, which, shape)
    return SheetSystem(
        grid=grid,
        resistance=resistance,
        links=spectra.reshape(len(pairs), -1)[which],
        shape=shape,
        axes=axes,
        stretch=stretch,
    )


def _sines(count: int) -> Floats:
    """The sine modes of points between two ends, (count, count), of unit length: their own inverse."""
    place = np.arange(1.0, count + 1.0)
    return np.asarray(np.sqrt(2.0 / (count + 1)) * np.sin(np.pi / (count + 1) * np.outer(place, place)))


def _even(least: int) -> int:
    """The least even number from there on without primes over 5, which Fourier transforms like."""
    half = (least + 1) // 2
    while not _smooth(half):
        half += 1
    return 2 * half


def _smooth(number: int) -> bool:
    for prime in (2, 3, 5):
        while number % prime == 0:
            number //= prime
    return number == 1


def _pairs(grid: SheetGrid) -> tuple[Indices, list[tuple[int, int]]]:
    """Pairs of layers that differ in thickness or distance, and which of them each pair is."""
    count = len(grid.middle)
    which = np.zeros((count, count), dtype=np.int64)
    known: dict[tuple[float, ...], int] = {}
    pairs: list[tuple[int, int]] = []
    for a in range(count):
        for b in range(a + 1):
            sizes = sorted((grid.thickness[a], grid.thickness[b]))
            key = tuple(round(v * 1e12) for v in (*sizes, abs(grid.middle[a] - grid.middle[b])))
            if key not in known:
                known[key] = len(pairs)
                pairs.append((a, b))
            which[a, b] = which[b, a] = known[key]
    return which, pairs


def _spectrum(grid: SheetGrid, a: int, b: int, shape: tuple[int, int]) -> Floats:
    """L between two layers for psi of each wave: that of bricks times the squared differences."""
    hx, hy = grid.cell
    nx, ny = (count + 1 for count in grid.metal.shape)
    apart = abs(float(grid.middle[a] - grid.middle[b]))
    quadrant = mean_inverse_distances(
        grid.cell, (nx, ny), apart, (float(grid.thickness[a]), float(grid.thickness[b]))
    )
    whole = np.zeros(shape)
    for sx, sy in ((1, 1), (1, -1), (-1, 1), (-1, -1)):
        rows, columns = sx * np.arange(nx), sy * np.arange(ny)
        whole[np.ix_(rows, columns)] = quadrant
    wave_x = 2.0 - 2.0 * np.cos(2.0 * np.pi * np.fft.fftfreq(shape[0]))[:, None]
    wave_y = 2.0 - 2.0 * np.cos(2.0 * np.pi * np.fft.rfftfreq(shape[1]))
    return np.asarray(MU0 / (4.0 * np.pi) * np.fft.rfft2(whole).real * (wave_x * hy**2 + wave_y * hx**2))


def _sine_modes(
    grid: SheetGrid, resistance: Floats, spectra: Floats, which: Indices, shape: tuple[int, int]
) -> tuple[Floats, Floats]:
    """axes and stretch of `SheetSystem`, with L read from the spectra at the sine modes' waves."""
    nx, ny = (count + 1 for count in grid.metal.shape)
    square_x = 2.0 - 2.0 * np.cos(np.pi * np.arange(1, nx) / nx)[:, None]
    square_y = 2.0 - 2.0 * np.cos(np.pi * np.arange(1, ny) / ny)
    resist = resistance[0, :, None, None] * square_x + resistance[1, :, None, None] * square_y
    at_x, at_y = shape[0] / (2.0 * nx) * np.arange(1, nx), shape[1] / (2.0 * ny) * np.arange(1, ny)
    link = np.array([_interpolated(one, at_x, at_y).ravel() for one in spectra])[which]  # (nz, nz, modes)
    scale = 1.0 / np.sqrt(resist.reshape(len(resist), -1))
    weighed = link * scale[:, None] * scale
    stretch, axes = np.linalg.eigh(np.moveaxis(weighed, 2, 0))
    return np.moveaxis(axes, 0, 2) * scale[:, None], np.maximum(stretch.T, 0.0)


def _interpolated(table: Floats, at_x: Floats, at_y: Floats) -> Floats:
    """A table's values between its rows and columns, linear."""
    rows = _between(table, at_x)
    return _between(rows.T, at_y).T


def _between(table: Floats, at: Floats) -> Floats:
    low = np.minimum(at.astype(np.int64), len(table) - 2)
    part = (at - low)[:, None]
    return np.asarray((1.0 - part) * table[low] + part * table[low + 1])
