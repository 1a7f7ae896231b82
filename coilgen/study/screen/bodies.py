"""Cores, target and magnet that stay as they are beside windings that change: what they do to each."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from coilgen.figures.core._magnetics import (
    cell_in_place,
    core_bodies,
    core_curves,
    magnet_field,
    magnet_for_solvers,
    solvable,
    target_body,
)
from coilgen.figures.field._paths import CHORDS
from coilgen.frozen import dataclass
from coilgen.geometry.isometry import Isometry
from coilgen.layout.coil import centre, columns
from coilgen.layout.lengths import QUARTERS, Lengths
from coilgen.layout.shape import shape_named
from coilgen.physics.base.conductor import Conductor, Floats
from coilgen.physics.core.combined import Combined, beside_cores, beside_target
from coilgen.physics.field.filaments import Filaments, filaments, together
from coilgen.physics.inductance.ring_tables import RingWindings

if TYPE_CHECKING:
    from coilgen.geometry.path import Path
    from coilgen.result.figure import Case

_RINGS = 14
"""Between the innermost and the outermost turn; what bodies do changes over their distance and size."""
_COARSER = {True: 1.0, False: 2.0}
"""With a target and without: cells over those of exact runs, which put right what that takes. A pull changes
much with how the cells lie under the turns."""
_AT_ONCE = 500_000


@dataclass(frozen=True, kw_only=True)
class BesideBodies:
    """What fixed bodies do to windings of one shape, as long as they do not saturate.

    levels: of the rings, (r,) m, as a shape tells how far out a turn is; combined: forms in them.
    """

    levels: Floats
    combined: Combined

    def added_inductance(self, windings: RingWindings) -> Floats:
        """(n,) H."""
        return self._square(windings, self.combined.linkage)

    def pull(self, windings: RingWindings) -> Floats:
        """Force along z on the target at one ampere, (n,) N/A2."""
        assert self.combined.pull is not None
        return self._square(windings, self.combined.pull)

    def push(self, windings: RingWindings) -> Floats:
        """Force along z of the bodies on the magnet that an ampere adds, (n,) N/A."""
        assert self.combined.push is not None
        return np.asarray(_times(self.levels, windings) @ self.combined.push)

    def _square(self, windings: RingWindings, form: Floats) -> Floats:
        times = _times(self.levels, windings)
        return np.asarray(np.einsum("nr,nr->n", times @ form, times))


def _times(rings: Floats, windings: RingWindings) -> Floats:
    """How often each winding carries the current of each ring, (n, r): between rings (r,) m by splines."""
    from scipy.interpolate import CubicSpline

    most = int(np.ceil(windings.turns.max()))
    shares = CubicSpline(rings, np.eye(len(rings)))
    count, step = len(windings), max(1, _AT_ONCE // (most * len(rings)))
    blocks = []
    for k in range(0, count, step):
        some = windings.where(np.arange(k, min(k + step, count)))
        there = np.clip(some.turns[:, None] - np.arange(most), 0.0, 1.0)
        levels = np.clip(some.radii(most), rings[0], rings[-1])
        blocks.append(np.einsum("nk,nkr->nr", there, shares(levels)))
    return np.concatenate(blocks)


def beside_bodies(case: Case, levels: tuple[float, float]) -> BesideBodies:
    """For windings like a case's, of its bodies and layers, with turns between two levels, m."""
    rings = np.linspace(*levels, _RINGS)
    units = [_rings(case, level) for level in rings]
    usual = case.value("current") * _times(rings, _as_rings(case))[0]
    return BesideBodies(levels=rings, combined=_combined(case, units, usual))


def _as_rings(case: Case) -> RingWindings:
    winding, copper = case.design.winding, case.design.board.stackup.copper[0]
    width = winding.trace_width
    return RingWindings(
        first=np.array([sum(winding.outer) / 4 - width / 2]),
        pitch=np.array([width + winding.trace_spacing]),
        width=np.array([width]),
        thickness=np.array([copper]),
        turns=np.array([winding.turns]),
    )


def _combined(case: Case, units: Sequence[Filaments], usual: Floats) -> Combined:
    cell, curves = _COARSER[case.design.target is not None] * cell_in_place(case), core_curves(case)
    with solvable("core" if case.design.core else "target"):
        if case.design.target is not None:
            own = case.design.target.material.curve
            return beside_target(units, target_body(case), core_bodies(case), (own, *curves), cell, usual)
        magnet = None if case.design.magnet is None else magnet_for_solvers(case)
        return beside_cores(units, core_bodies(case), curves, cell, usual, magnet, magnet_field(case))


def _rings(case: Case, level: float) -> Filaments:
    """One turn in every wound layer."""
    design = case.design
    lengths, stackup = Lengths(design, shape_named(design.winding.shape)), design.board.stackup
    turned = Isometry(quarters=QUARTERS[design.terminals.side])
    path = lengths.outline.closed(level, lengths.corner).moved(turned)
    layers = range(1, design.winding.layers + 1)
    paths = [
        _ring(path, stackup.height(layer), lengths.width, stackup.copper[layer - 1], layer)
        for layer in layers
    ]
    return together(paths, [1.0] * len(paths))


def _ring(path: Path, height: float, width: float, thickness: float, layer: int) -> Filaments:
    segments, count = path.segments, len(path.segments)
    one = Conductor(
        start=columns([each.start for each in segments]),
        end=columns([each.end for each in segments]),
        centre=columns([centre(each) for each in segments]),
        sweep=np.array([each.turning for each in segments]),
        width=np.full(count, width),
        thickness=np.full(count, thickness),
        z=np.full(count, height),
        layer=np.full(count, layer),
    )
    return filaments(one, tolerance=CHORDS)
