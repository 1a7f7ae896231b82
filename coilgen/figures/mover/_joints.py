"""What the mover induces in the tracks that join an array's coils, for the bands of voltages and torque."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

import numpy as np

from coilgen.figures.mover._machine import machine
from coilgen.figures.mover._magnets import magnets, mover_of
from coilgen.figures.mover._setting import BARE
from coilgen.figures.several._joint_flux import joint_strips, strip_currents
from coilgen.figures.several._network import phase_flows
from coilgen.physics.base.conductor import Floats
from coilgen.result.figure import Case

if TYPE_CHECKING:
    from coilgen.physics.mover.magnets import Magnets

_PLACES, _STEP = 12, 1e-3
"""Of the mover over one period, and over the period between the two of a slope."""
_CHORDS, _CUT = 1e-4, 5e-4
"""m, of the tracks: between an arc and its chord, and of a part."""


def joints_share(case: Case) -> float:
    """Voltage of the joints' tracks, with the straight ways that close coils taken off, over that of the
    phases: of the fundamental, the largest of all phases."""
    array = case.design.array
    if array is None or not array.joined:
        return 0.0
    return case.once("joints in the mover's field", lambda: _share(case))


def _share(case: Case) -> float:
    strips = np.array([strip_currents(case, flow) for flow in phase_flows(case)])
    own = np.abs(strips @ _fundamental(case))
    return float((own / np.abs(machine(case, BARE).voltages.fundamentals)).max())


def _fundamental(case: Case) -> "np.ndarray[tuple[int, ...], np.dtype[np.complex128]]":
    """Of the slope of each strip's flux over one period, (strips,) Wb for each unit of the mover's place.

    A ring's flux goes on with the other sign after half a period; a row's, which ends, is told by its slopes.
    """
    places = machine(case, BARE).voltages.places
    period = float(places[1] - places[0]) * len(places)
    at = places[0] + period * np.arange(_PLACES) / _PLACES
    found, parts = magnets(case, BARE), list(_parts(case))
    if mover_of(case).arrangement == "ring":
        half = np.array([_flux(case, found, parts, x) for x in at[: _PLACES // 2]])
        slope, values = 2j * np.pi / period, np.concatenate([half, -half])
    else:
        step = _STEP * period
        slope, values = (
            1.0 / (2 * step),
            np.array([_flux(case, found, parts, x + step) - _flux(case, found, parts, x - step) for x in at]),
        )
    return np.asarray(slope * np.fft.rfft(values, axis=0)[1] * 2 / _PLACES)


def _parts(case: Case) -> Iterator[tuple[Floats, Floats, float]]:
    """Of each strip: middles (k, 2) m of its parts, the steps along them (k, 2) m, its height, m."""
    from coilgen.physics.field.filaments import filaments, refined

    for strip in joint_strips(case):
        path = refined(filaments(strip, tolerance=_CHORDS, closed=False), _CUT)
        step = (path.end - path.start)[:, :2]
        yield path.start[:, :2] + 0.5 * step, step, float(path.start[0, 2])


def _flux(case: Case, found: "Magnets", parts: list[tuple[Floats, Floats, float]], place: float) -> Floats:
    """Line integral of the magnets' potential along each strip, Wb, with the mover at a place."""
    from coilgen.physics.mover.potential import vector_potential

    ring = mover_of(case).arrangement == "ring"
    c, s = (np.cos(place), np.sin(place)) if ring else (1.0, 0.0)
    back, shift = np.array([[c, -s], [s, c]]), np.array([0.0 if ring else place, 0.0])
    out = np.zeros(len(parts))
    heights = np.array([height for _, _, height in parts])
    for height in np.unique(heights):
        level = np.flatnonzero(heights == height)
        at, step = (np.concatenate([parts[k][part] for k in level]) for part in (0, 1))
        owner = np.repeat(np.arange(len(level)), [len(parts[k][0]) for k in level])
        gap = min(abs(face - float(height)) for sheet in found.sheets for face in sheet)
        potential = vector_potential((at - shift) @ back, float(height), found, gap)
        out[level] = np.bincount(owner, np.sum(potential * (step @ back), axis=1), len(level))
    return out
