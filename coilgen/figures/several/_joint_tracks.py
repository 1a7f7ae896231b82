"""What joins the coils of an array as places of heat on the board."""

from typing import TYPE_CHECKING

import numpy as np

from coilgen.figures.heat._leads import Frame
from coilgen.figures.several._network import amplitudes, joints_of, network
from coilgen.geometry.region import chords
from coilgen.layout.coil import Trace
from coilgen.result.figure import Case

if TYPE_CHECKING:
    from coilgen.physics.heat.plate.body import Tracks

_CHORDS, _PART = 2e-5, 3e-4
"""m, largest distance between a curve and what stands for it, and length of a part of a track."""


def joint_tracks(case: Case) -> "Tracks":
    """Tracks that join coils as they lie, but for leads in a tail; plated holes end them."""
    from coilgen.physics.heat.body import COPPER_CONDUCTIVITY
    from coilgen.physics.heat.plate.body import Tracks

    stackup, (_, runs, barrels) = case.design.board.stackup, amplitudes(case)
    found, joints = network(case), joints_of(case)
    parts = []
    for piece, run, ohm in zip(joints.pieces, runs, found.pieces, strict=True):
        at, share = _cut(piece.trace)
        row, section = piece.trace.layer - 1, piece.trace.width * stackup.copper[piece.trace.layer - 1]
        conducts = np.append(np.full(len(at) - 1, COPPER_CONDUCTIVITY * section), 0.0)
        parts.append((at, np.full(len(at), row), run**2 * ohm * share, conducts))
    for barrel, current in zip(joints.barrels, barrels, strict=True):
        half = np.full(2, 0.5 * found.barrel * current**2)
        parts.append((np.full(2, barrel.via.at), np.array([0, stackup.layers - 1]), half, np.zeros(2)))
    at, layer, heat, conducts = (np.concatenate(each) for each in zip(*parts, strict=True))
    here = _on_board(case, at)
    return Tracks(
        at=np.column_stack([at.real, at.imag])[here],
        layer=layer[here],
        share=heat[here] / heat[here].sum(),
        conducts=np.where(np.append(here[1:], False), conducts, 0.0)[here],
    )


def _on_board(case: Case, at: "np.ndarray") -> "np.ndarray":
    """Which places (k,) lie before the tail, if there is one."""
    if case.coil.tail is None:
        return np.ones(len(at), dtype=bool)
    frame = Frame.of(case.coil.tail)
    return np.array([frame.along(place) <= 0 for place in at.tolist()])


def _cut(trace: Trace) -> "tuple[np.ndarray, np.ndarray]":
    """Middles of a track's parts, (k,) m, and their shares of its length."""
    points = np.asarray(chords(trace.path, _CHORDS), dtype=np.float64) @ [1, 1j]
    step = np.diff(points)
    counts = np.maximum(1, np.ceil(np.abs(step) / _PART)).astype(np.int64)
    owner = np.repeat(np.arange(len(step)), counts)
    number = np.arange(len(owner)) - np.repeat(np.cumsum(counts) - counts, counts)
    length = np.abs(step)[owner] / counts[owner]
    return points[owner] + (number + 0.5) / counts[owner] * step[owner], length / length.sum()
