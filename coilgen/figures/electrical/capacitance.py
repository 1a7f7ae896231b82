"""Winding capacitance and self-resonance."""

import numpy as np

from coilgen.design.stackup import Stackup
from coilgen.physics.base.conductor import Floats
from coilgen.physics.circuit.capacitance import winding_capacitance
from coilgen.physics.circuit.self_resonance import TOLERANCE, self_resonance, self_resonance_band
from coilgen.physics.eddy.turns import Turns, turns
from coilgen.result.figure import Answer, Case, Quantity

THIN = 0.3
"""Layers nearer to each other than this share of the pitch are taken in several sections round the coil."""
SECTIONS = 3
SHORTEST = 0.25
"""Parts of a turn below this are left out: leads that run along the winding for a bit."""


def _capacitance(case: Case) -> Answer | None:
    winding = turns(case.conductor)
    start, end = _passed(case, winding)
    whole = np.abs(winding.fraction) > SHORTEST
    if whole.sum() < 2:
        return None
    planes, permittivity = dielectrics(case.design.board.stackup)
    found = winding_capacitance(
        height=winding.z[whole],
        position=_positions(case, winding)[..., whole],
        width=winding.width[whole],
        thickness=winding.thickness[whole],
        length=winding.length[whole],
        start=start[whole],
        end=end[whole],
        interfaces=planes,
        permittivity=permittivity,
    )
    return Answer(
        value=found.capacitance,
        model="energy of the turns' cross-section in its layered dielectric; voltage falls evenly along it",
        band=(found.capacitance * (1 - TOLERANCE) ** 2, found.capacitance * (1 + TOLERANCE) ** 2),
    )


def _passed(case: Case, winding: Turns) -> tuple[Floats, Floats]:
    """Shares of the wire passed at each turn's start and end; layers in parallel begin anew."""
    layers = np.unique(np.round(winding.z, 9)) if case.coil.parallel else [None]
    start, end = np.zeros_like(winding.length), np.zeros_like(winding.length)
    for level in layers:
        own = np.full(winding.z.shape, True) if level is None else np.round(winding.z, 9) == level
        along = np.cumsum(winding.length[own])
        end[own] = along / along[-1]
        start[own] = end[own] - winding.length[own] / along[-1]
    return start, end


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
    capacitance = case.figure("winding_capacitance")
    if capacitance is None or capacitance.value == 0.0:
        return None
    frequency = self_resonance(case.value("inductance"), capacitance.value)
    return Answer(
        value=frequency,
        model="inductance and winding capacitance, nothing connected; leads and instruments lower it",
        band=self_resonance_band(frequency),
    )


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
