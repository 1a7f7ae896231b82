"""Winding capacitance and self-resonance."""

import numpy as np
from numpy.typing import NDArray

from coilgen.design.stackup import Stackup
from coilgen.physics.base.conductor import Floats
from coilgen.physics.circuit.capacitance import WindingCapacitance, winding_capacitance
from coilgen.physics.circuit.self_resonance import TOLERANCE, ladder_resonance, self_resonance_band
from coilgen.physics.eddy.turns import Turns, turns
from coilgen.physics.inductance.coaxial_circles import rings_mutual_inductance
from coilgen.result.figure import Answer, Case, Quantity

Integers = NDArray[np.int64]

THIN = 0.3
"""Layers nearer to each other than this share of the pitch are taken in several sections round the coil."""
SECTIONS = 3


def _capacitance(case: Case) -> Answer | None:
    found = capacitances_between_turns(case)
    if found is None:
        return None
    return Answer(
        value=found.capacitance,
        model="energy of the turns' cross-section in its layered dielectric; voltage falls evenly along it",
        band=(found.capacitance * (1 - TOLERANCE) ** 2, found.capacitance * (1 + TOLERANCE) ** 2),
    )


def capacitances_between_turns(case: Case) -> WindingCapacitance | None:
    """Between each two turns, solved once; None for a single turn."""
    return case.once("capacitances between turns", lambda: _solved(case))


def _solved(case: Case) -> WindingCapacitance | None:
    winding = turns(case.conductor)
    if len(winding.z) < 2:
        return None
    start, end = _passed(case, winding)
    planes, permittivity = dielectrics(case.design.board.stackup)
    return winding_capacitance(
        height=winding.z,
        position=_positions(case, winding),
        width=winding.width,
        thickness=winding.thickness,
        length=winding.length,
        start=start,
        end=end,
        interfaces=planes,
        permittivity=permittivity,
    )


def _passed(case: Case, winding: Turns) -> tuple[Floats, Floats]:
    """Shares of the wire passed at each turn's start and end; layers in parallel begin anew."""
    strings = _strings(case, winding)
    start, end = np.zeros_like(winding.length), np.zeros_like(winding.length)
    for string in np.unique(strings):
        own = strings == string
        along = np.cumsum(winding.length[own])
        end[own] = along / along[-1]
        start[own] = end[own] - winding.length[own] / along[-1]
    return start, end


def _strings(case: Case, winding: Turns) -> Integers:
    """A number (n,) for each turn: alike for turns in series, one for each layer of layers in parallel."""
    if not case.coil.parallel:
        return np.zeros(len(winding.z), dtype=np.int64)
    return np.asarray(case.conductor.layer[winding.piece])


def dielectrics(stackup: Stackup) -> tuple[list[float], list[float]]:
    """Rising heights of the planes between dielectrics, m, and the relative permittivities between them.

    Solder mask fills the height of the outer copper; the laminates meet in the middle of inner copper.
    """
    layers = stackup.layers
    single = layers == 1
    planes = [stackup.mask_thickness, -stackup.copper[0]]
    materials = [stackup.mask_permittivity]
    for layer in range(1, layers - 1):
        planes.append(stackup.height(layer + 1))
        materials.append(stackup.permittivity[layer - 1])
    bottom = -stackup.thickness if single else -stackup.thickness + stackup.copper[-1]
    planes.append(bottom)
    materials.append(stackup.permittivity[-1])
    if not single:
        planes.append(-stackup.thickness - stackup.mask_thickness)
        materials.append(stackup.mask_permittivity)
    return planes[::-1], materials[::-1]


def _positions(case: Case, winding: Turns) -> Floats:
    """Of the turns across the winding; round layers that wind inward and outward slide over one another."""
    asked, levels = case.design.winding, np.round(winding.z, 9)
    heights = np.unique(levels)
    pitch = asked.trace_width + asked.trace_spacing
    if asked.shape != "round" or len(heights) < 2 or np.diff(heights).min() > THIN * pitch:
        return _on_grid(winding.radius, pitch)
    layer = len(heights) - np.searchsorted(heights, levels)
    inward = np.where(layer % 2 == 1, 1.0, -1.0)
    angle = (np.arange(SECTIONS)[:, None] + 0.5) / SECTIONS
    passed = (angle - (layer - 1) * asked.turns) % 1.0
    return _on_grid(winding.radius + inward * pitch * (0.5 - passed), pitch)


def _on_grid(positions: Floats, pitch: float) -> Floats:
    """Positions on a grid of a sixteenth of the pitch: equal distances let the solver reuse its work."""
    step = pitch / 16
    return np.asarray(np.round(positions / step) * step)


def _resonance(case: Case) -> Answer | None:
    """Where the ladder of all turns resonates; its inductances are brought to the winding's own."""
    between = capacitances_between_turns(case)
    if between is None or between.capacitance == 0.0:
        return None
    winding = turns(case.conductor)
    inductances, strings = _turn_inductances(winding), _strings(case, winding)
    whole = _together(inductances, strings)
    frequency = ladder_resonance(case.value("inductance") / whole * inductances, between.branches, strings)
    return Answer(
        value=frequency,
        model="ladder of the turns' inductances and the capacitances between them, nothing connected; leads "
        "and instruments lower it",
        band=self_resonance_band(frequency),
    )


def _turn_inductances(winding: Turns) -> Floats:
    """Self and mutual inductances (n, n) H of rings of the turns' radii, by the turns' lengths."""
    radius, size = winding.radius, (winding.width, winding.thickness)
    rings = rings_mutual_inductance(
        radius[:, None],
        radius,
        winding.z[:, None] - winding.z,
        (size[0][:, None], size[1][:, None]),
        size,
    )
    longer = np.sign(winding.fraction) * np.sqrt(winding.length / (2 * np.pi * radius))
    return np.asarray(rings * np.outer(longer, longer))


def _together(inductances: Floats, strings: Integers) -> float:
    """Inductance, H, of the strings of turns side by side."""
    own = strings[:, None] == np.unique(strings)
    return float(1 / np.linalg.inv(own.T @ inductances @ own).sum())


FIGURES = (
    Quantity(
        name="winding_capacitance",
        unit="F",
        says="capacitance of the winding between its terminals",
        group="electrical",
        compute=_capacitance,
    ),
    Quantity(
        name="self_resonance",
        unit="Hz",
        says="lowest frequency at which the coil resonates by itself",
        group="electrical",
        compute=_resonance,
    ),
)
