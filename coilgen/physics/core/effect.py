"""What soft cores do to a winding: inductance, flux density outside and inside."""

from __future__ import annotations

from dataclasses import replace
from functools import cache, cached_property

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Conductor, Floats
from coilgen.physics.core.body import Body
from coilgen.physics.core.charge_field import core_flux_density
from coilgen.physics.core.load import FluxDensity
from coilgen.physics.core.magnetisation_curve import Curve
from coilgen.physics.core.on_grid import OnGrid, SetUp, change, inside, on_grid, set_up
from coilgen.physics.core.soft_core import Magnetised, mean_flux_densities
from coilgen.physics.core.two_grids import TwoGrids, grid_error, two_grids
from coilgen.physics.field.filaments import Filaments, Indices, filaments

CHORDS = 2e-5
"""m, chord tolerance of the winding beside a core."""


@dataclass(frozen=True, kw_only=True)
class CoreEffect:
    """What bodies do at a current, on the finer of two grids; the coarser one, which tells the errors to
    expect, is solved when it is first asked for. SI units.

    probes: (n, 3) m.
    """

    on: TwoGrids[SetUp]
    fine: OnGrid
    probes: Floats

    def with_errors(self) -> CoreEffect:
        """This, once the coarser grid is solved too."""
        _ = self.added_inductance_error
        return self

    def with_rough(self) -> CoreEffect:
        """This, once the coarser grid is solved, for errors of fields alone."""
        _ = self.rough
        return self

    @property
    def added_inductance(self) -> float:
        """H, flux linkage that the current makes the bodies add, over the current."""
        return self.fine.linkage / self.fine.current

    @property
    def added_small_signal(self) -> float:
        """H, its slope about the drive current."""
        return self.fine.slope

    @property
    def at_rest(self) -> float:
        """H, its slope about no current."""
        return self.fine.at_rest

    @cached_property
    def added_flux_density(self) -> Floats:
        """At the probe points, (n, 3) T, that the current makes the bodies add."""
        return core_flux_density(self.change, self.probes)

    @cached_property
    def rough(self) -> OnGrid:
        """The coarser grid, for further solves."""
        return on_grid(self.on.rough, self.fine.current)

    @cached_property
    def added_inductance_error(self) -> float:
        """Estimate, H, with what the grids' outlines miss."""
        told = (each.linkage for each in self.outlined)
        return self.on.error(self.fine.linkage, self.rough.linkage, told) / abs(self.fine.current)

    @cached_property
    def outlined(self) -> tuple[OnGrid, ...]:
        """The bodies of each of the grids' `outlined`, at the current."""
        return tuple(on_grid(laid, self.fine.current, self.rough) for _, laid in self.on.outlined)

    @cached_property
    def added_flux_density_error(self) -> Floats:
        """Estimate, (n, 3) T."""
        return grid_error(self.added_flux_density, core_flux_density(self.rough.change, self.probes))

    @property
    def peak(self) -> Floats:
        """For each body the flux density that 99 % of its volume lie under, T."""
        return self._driven[0]

    @property
    def mean(self) -> Floats:
        """Of each body's flux density, T."""
        return self._driven[1]

    @property
    def saturated(self) -> Floats:
        """Share of each body's volume."""
        return self._driven[2]

    @property
    def volume(self) -> Floats:
        """Of each body, m3."""
        return self._driven[3]

    @property
    def peak_at_rest(self) -> Floats:
        """As `peak`, without current."""
        return self._resting[0]

    @property
    def saturated_at_rest(self) -> Floats:
        """As `saturated`, without current."""
        return self._resting[2]

    @property
    def state(self) -> Magnetised:
        """The magnetisation at the current."""
        return self.fine.state

    @property
    def rest(self) -> Magnetised:
        """The magnetisation without current."""
        return self.fine.rest

    @property
    def change(self) -> Magnetised:
        """What the current changes in the magnetisation."""
        return change(self.state, self.rest)

    def change_within(self, cells: Indices) -> Floats:
        """What the current changes in the flux density of cells (3, k) found by `cells_of`, (k, 3) T."""
        changed = mean_flux_densities(self.state) - mean_flux_densities(self.rest)
        return changed[:, *cells].T

    @cached_property
    def _driven(self) -> tuple[Floats, Floats, Floats, Floats]:
        return inside(self.state)

    @cached_property
    def _resting(self) -> tuple[Floats, Floats, Floats, Floats]:
        return inside(self.rest)


def core_effect(
    winding: Conductor | Filaments,
    bodies: tuple[Body, ...],
    curves: tuple[Curve, ...],
    *,
    current: float,
    cell: float,
    probes: Floats,
    applied: FluxDensity | None = None,
) -> CoreEffect:
    """Solves the cores at a current (A, not 0) on a grid of cells `cell` and, where errors are asked for, on
    one of cells twice as large (m).

    curves: one for each body. probes: (n, 3) m, outside the bodies. applied: flux density (n, 3) T at points
    (n, 3) m that magnetises the cores besides, as of a magnet.
    """
    path = filaments(winding, tolerance=CHORDS) if isinstance(winding, Conductor) else winding
    return effect_at(on_two_grids(path, bodies, curves, cell, applied), current, probes)


def on_two_grids(
    path: Filaments,
    bodies: tuple[Body, ...],
    curves: tuple[Curve, ...],
    cell: float,
    applied: FluxDensity | None = None,
) -> TwoGrids[SetUp]:
    """Bodies at a winding before any current flows; otherwise as `core_effect`."""
    laid = two_grids(
        bodies, cell, lambda shaped, width, like: set_up(path, shaped, curves, width, applied, like)
    )
    return replace(laid, laid_fine=cache(lambda: replace(laid.fine, rougher=laid.laid_rough)))


def effect_at(gridded: TwoGrids[SetUp], current: float, probes: Floats) -> CoreEffect:
    """As `core_effect`, of bodies on their grids."""
    return CoreEffect(on=gridded, fine=on_grid(gridded.fine, current), probes=probes)
