"""Resistance, inductance and quality of a planar winding over frequency: eddy currents in flat strips."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from coilgen.physics.base.conductor import Conductor, Floats
from coilgen.physics.base.constants import MU0
from coilgen.physics.eddy.coupling import clearance, coupling, radii
from coilgen.physics.eddy.leads import lead_strips
from coilgen.physics.eddy.section import Section, section
from coilgen.physics.eddy.sides import rings_field, sides_field
from coilgen.physics.eddy.spectrum import EddySpectrum, eddy_spectrum
from coilgen.physics.eddy.turns import Turns, is_round, is_stretched, leads, piece_lengths, turns

_EDGE_CELL = 0.5
_DEPTH_CELL = 1.0 / 3.0
_MOST_COLUMNS = 24.0
_FEWEST_COLUMNS = 12.0
_DROPPED = 1e-4
_SAME_SHIFT = 0.1
"""Of the narrowest width: shifts nearer than this count as equal."""
_FAR_LAYERS = 0.35
"""Of the distance between layers: shifts nearer than this count as equal; costs under 1 % of the rise."""
METHOD = (
    "filaments graded to the strip's edges on rings, sides' field where straight, leads as straight strips, "
    "Lanczos reduction"
)
_ROUND_BAND = 0.06
_POLYGON_BAND = 0.08
_LEADS_BAND = 0.04
"""More where leads pass the turns: whole designs are up to 9 % (round) and 10 % off a sheet-current solve."""

_STRETCHED_BAND = 0.08
"""More where turns are far from rings: triangles, rectangles and ovals of two layers are up to 17 % under a
sheet-current solve at 100 kHz."""
_PART, _MUCH_PART = 0.03, 0.4
_PART_BAND, _MUCH_PART_BAND = 0.15, 0.45
"""More where equal turns are not whole ones, by these parts of a turn: of few turns in part the rise is 17 to
23 % under and 16 % over a sheet-current solve, of one and a half turns up to 53 % over."""


@dataclass(frozen=True, kw_only=True)
class Impedance:
    """Series impedance of the winding without its capacitance.

    frequency: (n,) Hz. resistance: (n,) ohm. inductance: (n,) H. quality: (n,), reactance over resistance.
    resistance_ratio: (n,), over the direct-current value. inductance_change: (n,) H, from the direct-current
    value, never positive. band: fraction of resistance_ratio - 1 and of inductance_change that may be wrong.
    method: in words.
    """

    frequency: Floats
    resistance: Floats
    inductance: Floats
    quality: Floats
    resistance_ratio: Floats
    inductance_change: Floats
    band: float
    method: str


def impedance(
    conductor: Conductor,
    resistivity: float,
    frequencies: Floats,
    *,
    dc_resistance: float | None = None,
    dc_inductance: float | None = None,
) -> Impedance:
    """Impedance at frequencies (n,) Hz of turns and leads in series, from direct current to some 10 MHz.

    resistivity: ohm m. dc_resistance, dc_inductance: ohm, H, exact values to start from; without them the
    strip lengths' resistance and the inductance of the equivalent rings.
    Raises ValueError for negative frequencies or a resistivity that is not positive.
    """
    frequency = _checked(resistivity, frequencies)
    carried = np.ones((1, len(conductor.layer)))
    highest = float(frequency.max(initial=0.0))
    (spectrum,), ring_inductance = _spectra(conductor, resistivity, highest, carried)
    strip = resistivity * float((piece_lengths(conductor) / (conductor.width * conductor.thickness)).sum())
    ratio = 1.0 + spectrum.resistance(frequency) / strip
    resistance = ratio * (strip if dc_resistance is None else dc_resistance)
    change = spectrum.inductance(frequency)
    inductance = (ring_inductance if dc_inductance is None else dc_inductance) + change
    return Impedance(
        frequency=frequency,
        resistance=resistance,
        inductance=inductance,
        quality=2 * np.pi * frequency * inductance / resistance,
        resistance_ratio=ratio,
        inductance_change=change,
        band=error(conductor),
        method=METHOD,
    )


def impedance_changes(
    conductor: Conductor, resistivity: float, frequencies: Floats, carried: Floats
) -> NDArray[np.complex128]:
    """What eddy currents add to the impedance matrix of parts side by side, (n, ports, ports) ohm, complex.

    frequencies: (n,) Hz. carried: (ports, pieces), the current in each piece for an ampere of each port.
    Two ports driven together and each alone tell their mutual part, as the change is a quadratic form.
    Raises ValueError as `impedance` does.
    """
    frequency = _checked(resistivity, frequencies)
    spectra, _ = _spectra(conductor, resistivity, float(frequency.max(initial=0.0)), carried)
    driven = [
        each.resistance(frequency) + 2j * np.pi * frequency * each.inductance(frequency) for each in spectra
    ]
    change = np.zeros((len(frequency), len(carried), len(carried)), dtype=np.complex128)
    for ports, value in zip(_drives(len(carried)), driven, strict=True):
        first, last = np.flatnonzero(ports)[[0, -1]]
        alone = change[:, first, first] + change[:, last, last]
        change[:, first, last] = change[:, last, first] = value if first == last else 0.5 * (value - alone)
    return change


def error(conductor: Conductor) -> float:
    """Fraction by which the rise of the resistance and the fall of the inductance may be wrong."""
    winding = _ROUND_BAND if is_round(conductor) else _POLYGON_BAND
    stretched = is_stretched(conductor)
    beside = len(leads(conductor).start) > 0
    known = winding + (_LEADS_BAND if beside else 0.0) + (_STRETCHED_BAND if stretched else 0.0)
    return known + _part_band(conductor)


def _part_band(conductor: Conductor) -> float:
    part = float(np.abs(np.abs(turns(conductor).fraction) - 1.0).max())
    if part > _MUCH_PART:
        return _MUCH_PART_BAND
    return _PART_BAND if part > _PART else 0.0


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
    conductor: Conductor, resistivity: float, highest: float, carried: Floats
) -> tuple[list[EddySpectrum], float]:
    """A spectrum for each drive of the ports, and the rings' inductance with all ports in series.

    Of all parts of the turns that see their neighbours alike, and of the leads.
    """
    winding = turns(conductor)
    amperes = carried[:, winding.piece]
    cells = _cells(winding, skin_depth(resistivity, highest))
    excess = np.zeros((len(carried), *winding.shift.shape))
    if not is_round(conductor):
        excess = _excess_field(conductor, winding, carried)
    found, inductance = [], 0.0
    for stations in _alike(winding):
        share = float(winding.share[stations].sum())
        local = replace(
            winding,
            radius=winding.radius + _relative(winding)[stations[0]],
            share=winding.share[stations],
        )
        parts, ring = _local_spectra(local, cells, excess[:, stations], resistivity, highest, amperes)
        found.append([replace(part, weight=share * part.weight) for part in parts])
        inductance += share * ring
    for lead in lead_strips(conductor, carried):
        parts, _ = _local_spectra(lead.strip, cells, lead.field, resistivity, highest, lead.carried, lead.own)
        found.append(parts)
    return [_together(parts) for parts in zip(*found, strict=True)], inductance


def _together(parts: Iterable[EddySpectrum]) -> EddySpectrum:
    known = list(parts)
    return EddySpectrum(
        time_constant=np.concatenate([part.time_constant for part in known]),
        weight=np.concatenate([part.weight for part in known]),
    )


def _relative(winding: Turns) -> Floats:
    """Shifts (stations, turns) m less their mean over the turns."""
    return np.asarray(winding.shift - winding.shift.mean(axis=1, keepdims=True))


def _alike(winding: Turns) -> list[list[int]]:
    """Stations grouped by equal relative shifts; opposite shifts count as equal."""
    relative = _relative(winding)
    groups: list[list[int]] = []
    levels = np.unique(np.round(winding.z, 9))
    nearest = float(np.diff(levels).min()) if len(levels) > 1 else 0.0
    same = max(_SAME_SHIFT * float(winding.width.min()), _FAR_LAYERS * nearest)
    for station, shift in enumerate(relative):
        for group in groups:
            known = relative[group[0]]
            if min(np.abs(shift - known).max(), np.abs(shift + known).max()) <= same:
                group.append(station)
                break
        else:
            groups.append([station])
    return groups


def _local_spectra(
    winding: Turns,
    cells: Section,
    excess: Floats,
    resistivity: float,
    highest: float,
    amperes: Floats,
    own: Floats | float = 1.0,
) -> tuple[list[EddySpectrum], float]:
    """Of rings of the turns' radii, driven by their flux and the excess field (ports, stations, turns).

    amperes: (ports, turns), for an ampere of each port. own: (stations,), share of the rings' flux that
    counts there. A spectrum for each drive, and the inductance.
    """
    flux = coupling(winding, cells)
    area = 0.25 * np.outer(winding.width * winding.thickness, cells.dy * cells.dz)
    resistance = 2 * np.pi * resistivity * radii(winding, cells.y) / area
    uniform = (1.0 / resistance) / (1.0 / resistance).sum(axis=1, keepdims=True)
    current = (winding.fraction * amperes).T
    rings = flux.flux(uniform[..., None] * current[:, None, :])
    length = (winding.length / (2 * np.pi * winding.radius))[:, None]
    linked = np.sign(winding.fraction)[:, None] * length * uniform * rings.sum(axis=2)
    inductance = float(linked.sum())
    spectra = []
    for drive in _drives(len(amperes)):
        cases = _cases(winding, cells, np.tensordot(drive, excess, 1), rings @ drive, own)
        main = _main_cases(cases, uniform, resistance / length)
        spectra.append(eddy_spectrum(flux.flux, resistance, np.sqrt(length)[..., None] * main, highest))
    return spectra, inductance


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


def _excess_field(conductor: Conductor, winding: Turns, carried: Floats) -> Floats:
    """Field (ports, stations, turns) T/A of the sides less that of rings at the distances they have there."""
    shifts, which = np.unique(_relative(winding), axis=0, return_inverse=True)
    amperes = carried[:, winding.piece]
    rings = [rings_field(replace(winding, radius=winding.radius + shift), amperes) for shift in shifts]
    sides = sides_field(conductor, winding.points, winding.z, winding.width, carried)
    return np.asarray(sides.transpose(0, 2, 1) - np.stack(rings, axis=1)[:, which.ravel()])


def _main_cases(cases: Floats, uniform: Floats, resistance: Floats) -> Floats:
    """The cases turned into as few as carry all but 1e-4 of their squares."""
    loops = (cases - (uniform[..., None] * cases).sum(axis=1, keepdims=True)) / np.sqrt(resistance)[..., None]
    flat = loops.reshape(-1, loops.shape[2])
    values, vectors = np.linalg.eigh(flat.T @ flat)
    left_out = np.cumsum(np.maximum(values, 0.0)) <= _DROPPED * values.sum()
    return np.asarray(cases @ vectors[:, ~left_out])
