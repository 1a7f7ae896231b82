"""Figures that rest on work of their own, which another process may do."""

from collections.abc import Callable, Hashable, Mapping
from contextlib import suppress
from dataclasses import replace
from functools import partial
from typing import Any

from coilgen.errors import UnsolvedError
from coilgen.figures.core._magnetics import in_place
from coilgen.figures.core._spreads import driven_at_ends, solved_at_ends
from coilgen.figures.in_place._metal import KEPT, metal, pieces, with_permeabilities
from coilgen.figures.in_place._spreads import permeability_spread
from coilgen.frozen import dataclass
from coilgen.processors import Shared, Task
from coilgen.result.figure import Case, Figure

Found = tuple[dict[str, Figure | None], dict[str, UnsolvedError], dict[Hashable, Any]]
"""Figures by name, why others are not told, and what figures share by key."""


@dataclass(frozen=True, kw_only=True)
class Part:
    """What takes long and rests on nothing that others compute; where: that is so in a case.

    figures: whose work it is. kept: what else is wanted of it, by the functions or words that its keys begin
    with, once `ask` has had it computed. after: what it rests on with others, solved before it is begun.
    """

    where: Callable[[Case], bool]
    figures: tuple[str, ...] = ()
    kept: tuple[Hashable, ...] = ()
    ask: Callable[[Case], object] = bool
    after: Callable[[Case], object] | None = None


def _pulled(case: Case) -> bool:
    return case.design.target is not None


def _pushed(case: Case) -> bool:
    return case.design.magnet is not None and bool(case.design.core)


def _passed(case: Case) -> bool:
    return case.design.mover is not None


def _apart_from_target(case: Case) -> bool:
    """Fields are told of cores alone: without a target these are solved for inductances too."""
    return bool(case.design.core) and case.design.target is not None


def _cored(case: Case) -> bool:
    """Of one winding: inductances of several in place are told by other figures."""
    return bool(case.design.core) and not case.windings


def _in_metal(case: Case) -> bool:
    return _cored(case) and bool(pieces(case))


def _cores(case: Case) -> None:
    """What cores do at the drive's current, and what every figure of them takes of the bare coil."""
    in_place(case)
    case.solved("self_resonance")


def _ends(case: Case) -> None:
    """What cores and target do at the ends of tolerances."""
    solved_at_ends(case)
    if case.design.core:
        driven_at_ends(case)


def _phases(case: Case) -> None:
    """The inductances of an array that a mover passes, with its cores."""
    case.solved("phase_inductance_matrix")
    case.solved("phase_inductance_matrix_in_place")


def _metals(case: Case) -> None:
    with_permeabilities(case, permeability_spread(case))
    metal(case, "drive")


PARTS: Mapping[str, Part] = {
    "metal in place": Part(kept=(*KEPT,), ask=_metals, where=_in_metal, after=_cores),
    "cores at rest and at the onset of saturation": Part(
        figures=("core_saturation_current", "core_inductance_at_rest"), where=_cored, after=_ends
    ),
    "pull on the target": Part(
        figures=("pull_on_target", "pull_against_gap", "pull_against_current", "holding_current"),
        where=_pulled,
        after=_ends,
    ),
    "forces on the magnet": Part(
        figures=(
            "force_on_magnet",
            "force_reversed",
            "force_at_rest",
            "force_constant",
            "force_on_magnet_parts",
            "torque_on_magnet",
            "force_against_gap",
            "force_against_offset",
            "behaviour",
        ),
        where=_pushed,
    ),
    "what a mover does": Part(
        figures=(
            "mover_attraction",
            "cogging_torque",
            "cogging_force",
            "additional_cogging_torque",
            "additional_cogging_force",
            "stator_core_flux_density",
            "no_load_speed",
            "stall_torque",
            "stall_force",
            "torque_against_speed",
            "force_against_speed",
            "best_efficiency",
            "track_eddy_loss",
            "torque_constant",
            "thrust_constant",
            "torque_against_angle",
            "force_against_position",
            "torque_ripple",
            "voltage_constant",
            "line_voltage_constant",
            "winding_factor",
            "voltage_harmonics",
            "voltage_against_angle",
        ),
        where=_passed,
        after=_phases,
    ),
    "field of winding and cores": Part(
        figures=(
            "axis_flux_density",
            "core_flux_density",
            "flux_density_map",
            "peak_flux_density",
            "flux_density_per_root_watt",
            "half_millitesla_distance",
            "flux_density",
            "flux_density_over_board",
            "viewing_film_area",
        ),
        where=_apart_from_target,
    ),
}
"""By name, in the order in which other processes begin them."""


def tasks(case: Case) -> Mapping[str, Task]:
    """The parts that a case has, for other processes; `helped` takes what they find."""
    return {name: partial(_found, case, part) for name, part in _parts(case).items()}


def at_once(case: Case) -> list[str]:
    """Names of the parts that rest on nothing else."""
    return [name for name, part in _parts(case).items() if part.after is None]


def helped(case: Case, others: Shared) -> Case:
    """The case, while others share its `tasks`; where there are others, what several rest on is solved."""
    parts = _parts(case)
    last = frozenset(name for part in parts.values() for name in part.figures)
    later = {name: part.after for name, part in parts.items() if part.after is not None}
    if later and others.workers > 1:
        for solve in dict.fromkeys(later.values()):
            with suppress(UnsolvedError):
                solve(case)
            others.begin([name for name, after in later.items() if after is solve])
    return replace(case, bring=_Brought(case, parts, others).bring, last=last)


def _parts(case: Case) -> dict[str, Part]:
    return {name: part for name, part in PARTS.items() if part.where(case)}


def _found(case: Case, part: Part) -> Found:
    """As another process tells them."""
    with suppress(UnsolvedError):
        part.ask(case)
    known = {name: case.solved(name) for name in part.figures}
    unsolved = {name: case.unsolved[name] for name in part.figures if name in case.unsolved}
    kept = {key: value for key, value in case.shared.items() if _first(key) in part.kept}
    return {name: figure for name, figure in known.items() if name not in unsolved}, unsolved, kept


def _first(key: Hashable) -> Hashable:
    return key[0] if isinstance(key, tuple) else key


class _Brought:
    """Brings to a case what a part computes when the first of it is asked for."""

    def __init__(self, case: Case, parts: Mapping[str, Part], others: Shared) -> None:
        self._case, self._parts, self._others = case, parts, others
        self._part = {name: part for part, told in parts.items() for name in (*told.figures, *told.kept)}
        self._here: set[str] = set()

    def bring(self, asked: Hashable) -> None:
        """Leaves what nobody began to this process; while it waits for others it does what else there is."""
        part = self._part.get(_first(asked))
        if part is None or part in self._here:
            return
        if not self._others.mine(part):
            self._meanwhile(part)
            found: Found | None = self._others.answer(part)
            if found is not None:
                known, unsolved, kept = found
                self._case.known.update(known)
                self._case.unsolved.update(unsolved)
                self._case.shared.update(kept)
        self._here.add(part)

    def _meanwhile(self, part: str) -> None:
        while not self._others.there(part):
            spare = self._others.spare(self._parts)
            if spare is None:
                return
            self._here.add(spare)
            _found(self._case, self._parts[spare])
