"""Eddy currents in the copper of a board's windings, each in its own field and in those of the others."""

from collections.abc import Hashable, Iterator
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

from coilgen.design.phases import axis
from coilgen.figures.electrical._copper_eddies import counts_copper_eddies
from coilgen.figures.in_place._losses import copper_heating, heat_by
from coilgen.frozen import dataclass
from coilgen.geometry.isometry import Isometry
from coilgen.layout.coil import conductor, trace_of_pieces
from coilgen.physics.base.conductor import Floats
from coilgen.result.figure import Case

if TYPE_CHECKING:
    from coilgen.physics.eddy.leads import Outside
    from coilgen.physics.eddy.spectrum import EddySpectrum
    from coilgen.physics.metal.relaxation import Relaxation

_HIGHEST = 1e7
"""Hz, of harmonics."""
_PER_DECADE, _SHORTEST = 10, 1e-9
"""Time constants kept in a decade: what they make changes by under 0.1 %. Of the longest one: shorter ones
make nothing."""
_FAR = 2.5
"""Over the least distance of an array's coils: what lies farther off makes under 1 % of neighbours' heat."""


@dataclass(frozen=True, kw_only=True)
class Eddies:
    """Heat in each winding's copper over the mean square of each one's current, (w, w) ohm.

    alone: each current by itself. in_step: what fields of drives that go alike make together besides, at the
    currents of the cold board, which all have their crests at once; in an array they are those of its phases.
    """

    alone: Floats
    in_step: Floats

    @property
    def any(self) -> bool:
        """Whether some drive changes."""
        return bool(self.alone.any())


def eddies(case: Case, resistance: tuple[float, ...]) -> Eddies:
    """Of the windings at their resistances, ohm, by which switched voltages drive their currents."""
    return case.once(f"eddies of several at {resistance}", lambda: _eddies(case, resistance))


def _eddies(case: Case, resistance: tuple[float, ...]) -> Eddies:
    count = len(case.windings)
    alone = np.diag(
        [copper_heating(each.case, ohm) for each, ohm in zip(case.windings, resistance, strict=True)]
    )
    in_step = np.zeros((count, count))
    if not alone.any():
        return Eddies(alone=alone, in_step=in_step)
    if case.design.array is not None:
        return Eddies(
            alone=alone, in_step=np.diag([_of_neighbours(case, k, resistance[k]) for k in range(count)])
        )
    for number in range(count):
        _of_others(case, number, resistance, alone, in_step)
    return Eddies(alone=alone, in_step=in_step)


def _of_others(
    case: Case, number: int, resistance: tuple[float, ...], alone: Floats, in_step: Floats
) -> None:
    """Fills the rows of one winding with what the others' fields make in its copper."""
    changing = [k for k, each in enumerate(case.windings) if counts_copper_eddies(each.case)]
    others = [k for k in changing if k != number]
    if not others:
        return
    port = {number: 0, **{k: place for place, k in enumerate(others, start=1)}}
    pairs = [pair for pair in combinations(changing, 2) if _alike(case, *pair)]
    drives = np.zeros((len(changing) + len(pairs), 1 + len(others)))
    for row, driven in enumerate([*((k,) for k in changing), *pairs]):
        drives[row, [port[k] for k in driven]] = 1.0
    found = _spectra(case, number, drives, _fields(case, number, np.eye(len(others)), others))
    single = dict(zip(changing, found, strict=False))
    for k in others:
        alone[number, k] = _heat(case, k, resistance[k], single[k])
    for (one, other), both in zip(pairs, found[len(changing) :], strict=True):
        ohm = [_heat(case, one, resistance[one], each) for each in (both, single[one], single[other])]
        more, ratio = ohm[0] - ohm[1] - ohm[2], _current(case, other) / _current(case, one)
        # Twice the product of both currents: exact at their ratio, and near it but for its change's square.
        in_step[number, one] += 0.5 * more * ratio
        in_step[number, other] += 0.5 * more / ratio


def _of_neighbours(case: Case, number: int, resistance: float) -> float:
    """What the other coils of an array add in a coil's copper, whose currents differ in sense and phase."""
    near = dict(_neighbours(case, number))
    if not near:
        return 0.0
    key = "eddies of neighbours", resistance, tuple(near.items())
    return case.once(key, lambda: _beside(case, number, resistance, near))


def _beside(case: Case, number: int, resistance: float, near: dict[Hashable, complex]) -> float:
    others = [k for k in range(len(case.windings)) if _way(case, number, k) in near and k != number]
    ratio = np.array([near[_way(case, number, k)] for k in others])
    drives = np.array([[1.0, 0.0, 0.0], [1.0, 1.0, 0.0], [0.0, 0.0, 1.0]])
    fields = _fields(case, number, np.stack([ratio.real, ratio.imag]), others)
    own, along, across = (
        _heat(case, number, resistance, each) for each in _spectra(case, number, drives, fields)
    )
    return along - own + across


def _neighbours(case: Case, number: int) -> Iterator[tuple[Hashable, complex]]:
    """How the coils near one lie to it, and their currents over its own."""
    array, placed = case.design.array, case.design.windings
    assert array is not None
    middles = np.array([each.centre for each in placed])
    phasor = np.array([each.sense * np.exp(1j * axis(each.phase, array.phase_count)) for each in placed])
    apart = np.abs(middles - middles[number])
    apart[number] = np.inf
    for k in np.flatnonzero(apart < _FAR * apart.min()).tolist():
        yield _way(case, number, k), complex(np.round(phasor[k] / phasor[number], 12))


def _way(case: Case, one: int, other: int) -> Hashable:
    """How a coil of an array lies to another: coils of a ring are turned with it."""
    array = case.design.array
    assert array is not None
    if array.arrangement == "ring":
        return (other - one) % len(case.windings)
    columns = array.columns or len(case.windings)
    (row, column), (further, along) = divmod(one, columns), divmod(other, columns)
    return further - row, along - column


def _alike(case: Case, one: int, other: int) -> bool:
    """Whether two drives go alike over time, so that their fields add up at every instant."""
    first, second = (case.windings[k].case.design.drive for k in (one, other))
    return (first.waveform, first.frequency, first.duty) == (second.waveform, second.frequency, second.duty)


def _current(case: Case, number: int) -> float:
    return float(case.windings[number].case.value("current"))


def _fields(case: Case, number: int, ports: Floats, others: list[int]) -> "Outside":
    """Fields of the other windings, put together to ports (ports, others), as seen from one."""
    from coilgen.physics.eddy.sides import sides_field
    from coilgen.physics.eddy.turns import sides

    placed = case.design.windings[number]
    lies = Isometry.placed(placed.rotation, placed.centre)
    turn = lies.point(1 + 0j) - lies.shift
    stackup = case.design.board.stackup
    sources = [
        (sides(conductor(case.windings[k].passed, stackup)), _carried(case.windings[k].case)) for k in others
    ]

    def outside(points: Floats, z: Floats, width: Floats) -> Floats:
        there = (points[..., 0] + 1j * points[..., 1]) * turn + lies.shift
        on_board = np.stack([there.real, there.imag], axis=-1)
        each = np.stack([sides_field(chain, on_board, z, width, own[None])[0] for chain, own in sources])
        return np.tensordot(ports, each, 1)

    return outside


def _spectra(case: Case, number: int, drives: Floats, outside: "Outside") -> "list[EddySpectrum]":
    from coilgen.physics.eddy.current import spectra_in_fields

    own = case.windings[number].case
    highest = max(_highest(each.case) for each in case.windings)
    metal = case.design.board.stackup.metal
    return spectra_in_fields(own.conductor, metal.resistivity, highest, _carried(own), drives, outside)


def _highest(case: Case) -> float:
    """Frequency of what a drive makes, Hz."""
    drive = case.design.drive
    if not counts_copper_eddies(case) or drive.frequency is None:
        return 1.0
    return drive.frequency if drive.waveform == "sine" else _HIGHEST


def _heat(case: Case, source: int, resistance: float, spectrum: "EddySpectrum") -> float:
    """Heat over the mean square of a winding's current, ohm."""
    own = case.windings[source].case
    drive = own.design.drive
    if drive.waveform == "sine":
        return float(spectrum.resistance(np.array(drive.frequency)))
    return float(heat_by(own, resistance, _decays(spectrum))[0])


def _decays(spectrum: "EddySpectrum") -> "Relaxation":
    """The same as decays that currents of any course meet, few: time constants next to each other are one,
    which leaves the rise as it is where it grows with the square of the frequency, and the fall far over it.
    """
    from coilgen.physics.metal.relaxation import of_single_body

    kept = spectrum.time_constant > _SHORTEST * spectrum.time_constant.max(initial=0.0)
    time, weight = spectrum.time_constant[kept], spectrum.weight[kept]
    _, kind = np.unique(np.round(_PER_DECADE * np.log10(time)), return_inverse=True)
    strength, whole = (np.asarray(np.bincount(kind, each), float) for each in (weight / time, weight))
    some = strength > 0.0
    return of_single_body(0.0, strength[some], whole[some] / strength[some])


def _carried(case: Case) -> Floats:
    """Share (pieces,) of a winding's current in each piece of its copper: layers in parallel divide it."""
    return np.array(case.shares, dtype=np.float64)[trace_of_pieces(case.passed)]
