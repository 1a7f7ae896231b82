"""What eddy currents in the flat strips of a planar winding add to its impedance over frequency."""

from collections.abc import Iterable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from coilgen.physics.base.conductor import Conductor, Floats
from coilgen.physics.base.constants import MU0
from coilgen.physics.eddy.coupling import clearance, coupling, radii
from coilgen.physics.eddy.leads import Outside, lead_strips
from coilgen.physics.eddy.neighbours import alike, excess_field, local_turns
from coilgen.physics.eddy.section import Section, section
from coilgen.physics.eddy.spectrum import EddySpectrum, eddy_spectrum
from coilgen.physics.eddy.turns import (
    Turns,
    is_round,
    is_stretched,
    leads,
    turns_and_parts,
)

_EDGE_CELL = 0.5
_DEPTH_CELL = 1.0 / 3.0
_MOST_COLUMNS = 24.0
_FEWEST_COLUMNS = 12.0
_DROPPED = 1e-4
METHOD = (
    "filaments graded to the strip's edges on rings, sides' field where straight, leads as straight strips, "
    "Lanczos reduction"
)
_ROUND_BAND = 0.06
_POLYGON_BAND = 0.08
_LEADS_BAND = 0.04
"""More where leads pass the turns: whole designs are up to 9 % (round) and 10 % off a sheet-current solve."""

_STRETCHED_BAND = 0.04
"""More where turns are far from rings, as of triangles, rectangles and narrow ovals."""
_PART_BAND = 0.05
"""More where a turn is but a part of one, with which a lead goes on: up to 15 % under a sheet solve."""


def impedance_changes(
    conductor: Conductor, resistivity: float, frequencies: Floats, carried: Floats
) -> NDArray[np.complex128]:
    """What eddy currents add to the impedance matrix of parts side by side, (n, ports, ports) ohm, complex.

    From direct current to some 10 MHz. resistivity: ohm m. frequencies: (n,) Hz. carried: (ports, pieces),
    the current in each piece for an ampere of each port. Two ports driven together and each alone tell their
    mutual part, as the change is a quadratic form. Raises ValueError for negative frequencies or a
    resistivity that is not positive.
    """
    frequency = _checked(resistivity, frequencies)
    spectra = _spectra(conductor, resistivity, float(frequency.max(initial=0.0)), carried)
    driven = [
        each.resistance(frequency) + 2j * np.pi * frequency * each.inductance(frequency) for each in spectra
    ]
    change = np.zeros((len(frequency), len(carried), len(carried)), dtype=np.complex128)
    for ports, value in zip(_drives(len(carried)), driven, strict=True):
        first, last = np.flatnonzero(ports)[[0, -1]]
        alone = change[:, first, first] + change[:, last, last]
        change[:, first, last] = change[:, last, first] = value if first == last else 0.5 * (value - alone)
    return change


def spectra_in_fields(
    conductor: Conductor, resistivity: float, highest: float, own: Floats, drives: Floats, outside: Outside
) -> list[EddySpectrum]:
    """Eddy currents in a winding's copper under its own current and in fields of others, for each drive.

    highest: Hz, up to which they are told. own: (pieces,), current in each piece for an ampere of the
    winding. drives: (d, 1 + ports) A, of the winding and of each port of the fields. Nothing flows between
    the others' copper and this one's. Raises ValueError as `impedance_changes` does.
    """
    frequency = _checked(resistivity, np.array([highest]))
    carried = np.vstack([own, np.zeros((drives.shape[1] - 1, len(own)))])
    return _spectra(conductor, resistivity, float(frequency[0]), carried, drives, outside)


def error(conductor: Conductor) -> float:
    """Fraction by which the rise of the resistance and the fall of the inductance may be wrong."""
    winding = _ROUND_BAND if is_round(conductor) else _POLYGON_BAND
    stretched = is_stretched(conductor)
    beside = len(leads(conductor).start) > 0
    in_part = bool(np.isnan(turns_and_parts(conductor).shift).any())
    more = (beside * _LEADS_BAND, stretched * _STRETCHED_BAND, in_part * _PART_BAND)
    return winding + sum(more)


def _checked(resistivity: float, frequencies: Floats) -> Floats:
    frequency = np.atleast_1d(np.asarray(frequencies, dtype=np.float64))
    if not resistivity > 0.0 or not np.all(frequency >= 0.0):
        raise ValueError("the resistivity must be positive and frequencies must not be negative")
    return frequency


def _drives(ports: int) -> Floats:
    """Currents (drives, ports) A: each port alone, then each two together."""
    single = np.eye(ports)
    pairs = [single[first] + single[last] for first in range(ports) for last in range(first + 1, ports)]
    return np.vstack([single, *pairs])


def skin_depth(resistivity: float, frequency: float) -> float:
    """Depth, m, at which a plane conductor's current falls to 1/e: sqrt(rho / (pi f mu0)); infinite at 0 Hz.

    Copper at 20 C (IEC 60028), 1 MHz: 66.08 um.

    >>> round(skin_depth(1.7241e-8, 1e6) * 1e6, 2)
    66.08
    """
    return float(np.sqrt(resistivity / (np.pi * frequency * MU0))) if frequency > 0.0 else float("inf")


def _spectra(
    conductor: Conductor,
    resistivity: float,
    highest: float,
    carried: Floats,
    drives: Floats | None = None,
    outside: Outside | None = None,
) -> list[EddySpectrum]:
    """A spectrum for each drive of the ports.

    Of all parts of the turns that see their neighbours alike, and of the leads. drives: each port and each
    two together unless told.
    """
    winding = turns_and_parts(conductor)
    cells = _cells(winding, skin_depth(resistivity, highest))
    together = _drives(len(carried)) if drives is None else drives
    excess = excess_field(conductor, winding, carried)
    if outside is not None:
        excess[1:] += outside(winding.points, winding.z, winding.width).transpose(0, 2, 1)
    found = []
    for places in alike(winding):
        local, there = local_turns(winding, places)
        share = float(winding.share[places].sum())
        seen = excess[:, places][..., there]
        amperes = carried[:, local.piece]
        parts = _local_spectra(local, cells, seen, resistivity, highest, amperes, together)
        found.append([replace(part, weight=share * part.weight) for part in parts])
    for lead in lead_strips(conductor, carried, outside):
        strip, field = lead.strip, lead.field
        parts = _local_spectra(strip, cells, field, resistivity, highest, lead.carried, together, lead.own)
        found.append(parts)
    return [_together(parts) for parts in zip(*found, strict=True)]


def _together(parts: Iterable[EddySpectrum]) -> EddySpectrum:
    known = list(parts)
    return EddySpectrum(
        time_constant=np.concatenate([part.time_constant for part in known]),
        weight=np.concatenate([part.weight for part in known]),
    )


def _local_spectra(
    winding: Turns,
    cells: Section,
    excess: Floats,
    resistivity: float,
    highest: float,
    amperes: Floats,
    drives: Floats,
    own: Floats | float = 1.0,
) -> list[EddySpectrum]:
    """Of rings of the turns' radii, driven by their flux and the excess field (ports, stations, turns).

    amperes: (ports, turns), for an ampere of each port. drives: (d, ports). own: (stations,), share of the
    rings' flux that counts there. A spectrum for each drive.
    """
    flux = coupling(winding, cells)
    area = 0.25 * np.outer(winding.width * winding.thickness, cells.dy * cells.dz)
    resistance = 2 * np.pi * resistivity * radii(winding, cells.y) / area
    uniform = (1.0 / resistance) / (1.0 / resistance).sum(axis=1, keepdims=True)
    current = (winding.fraction * amperes).T
    rings = flux.flux(uniform[..., None] * current[:, None, :])
    length = (winding.length / (2 * np.pi * winding.radius))[:, None]
    spectra = []
    for drive in drives:
        cases = _cases(winding, cells, np.tensordot(drive, excess, 1), rings @ drive, own)
        main = _main_cases(cases, uniform, resistance / length)
        spectra.append(eddy_spectrum(flux.flux, resistance, np.sqrt(length)[..., None] * main, highest))
    return spectra


def _cases(winding: Turns, cells: Section, excess: Floats, ring: Floats, own: Floats | float) -> Floats:
    """Flux (turns, filaments, stations) Wb/A a full turn would link in the field at each station.

    The rings' flux, and the excess field as a slope across the strip. Stations are weighted so that squares
    add up to the mean over the turn.
    """
    crossed = np.isfinite(excess.T)
    share = np.where(crossed | ~crossed.any(axis=1, keepdims=True), winding.share, 0.0)
    share = share / share.sum(axis=1, keepdims=True)
    slope = np.where(crossed, excess.T, 0.0) * (np.pi * winding.radius * winding.width)[:, None]
    flux = ring[:, :, None] * own + slope[:, None, :] * cells.y[:, None]
    return np.asarray(flux * np.sqrt(share)[:, None, :])


def _cells(winding: Turns, depth: float) -> Section:
    """Filaments as fine as half the skin depth at the edges, as the nearest other copper in the middle."""
    narrow, wide = float(winding.width.min()), float(winding.width.max())
    edge = _EDGE_CELL * min(depth, float(winding.thickness.max()))
    largest = np.clip(clearance(winding), wide / _MOST_COLUMNS, wide / _FEWEST_COLUMNS)
    thick = float(winding.thickness.max())
    return section(
        edge=2 * edge / narrow,
        largest=2 * float(largest) / wide,
        through=2 * _DEPTH_CELL * depth / thick if thick > depth else 1.0,
    )


def _main_cases(cases: Floats, uniform: Floats, resistance: Floats) -> Floats:
    """The cases turned into as few as carry all but 1e-4 of their squares."""
    loops = (cases - (uniform[..., None] * cases).sum(axis=1, keepdims=True)) / np.sqrt(resistance)[..., None]
    flat = loops.reshape(-1, loops.shape[2])
    few = flat.shape[0] < flat.shape[1]  # a lead has thousands of stations, and few filaments
    values, vectors = np.linalg.eigh(flat @ flat.T if few else flat.T @ flat)
    kept = np.cumsum(np.maximum(values, 0.0)) > _DROPPED * values.sum()
    main = flat.T @ (vectors[:, kept] / np.sqrt(values[kept])) if few else vectors[:, kept]
    return np.asarray(cases @ main)
