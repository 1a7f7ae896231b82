"""Figures that rest on work of their own, which another process may do."""

from collections.abc import Callable, Hashable, Mapping
from contextlib import suppress
from dataclasses import replace
from functools import partial
from typing import Any

from coilgen.errors import UnsolvedError
from coilgen.figures.core._magnetics import in_place
from coilgen.figures.core._spreads import driven_at_ends, solved_at_ends
from coilgen.figures.electrical._turns import of_turns
from coilgen.figures.electrical.capacitance import BETWEEN_TURNS
from coilgen.figures.electrical.impedance import eddy_impedance
from coilgen.figures.field._paths import winding_path
from coilgen.figures.heat._warmth import history
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

    after: what it rests on with others, of `_STAGES`, solved before it is begun. figures: whose work it is.
    kept: what else is wanted of it, by the functions or words that its keys begin with, once `ask` has had it
    computed.
    """

    where: Callable[[Case], bool]
    after: Callable[[Case], object]
    figures: tuple[str, ...] = ()
    kept: tuple[Hashable, ...] = ()
    ask: Callable[[Case], object] = bool


def _any(case: Case) -> bool:
    return True


def _pulled(case: Case) -> bool:
    return case.design.target is not None


def _pushed(case: Case) -> bool:
    return case.design.magnet is not None


def _passed(case: Case) -> bool:
    return case.design.mover is not None


def _bare(case: Case) -> bool:
    return not case.design.core


def _fields_of_cores(case: Case) -> bool:
    """Fields are told of cores alone: without a target these are solved for inductances too."""
    return bool(case.design.core) and _pulled(case)


def _alone(case: Case) -> bool:
    """Of one winding that nothing soft-magnetic stands at."""
    return not (case.windings or case.design.core or _pulled(case))


def _coupled(case: Case) -> bool:
    """Of several windings with nothing but these on the board."""
    return bool(case.windings) and not (_passed(case) or _pulled(case) or case.design.core)


def _cored(case: Case) -> bool:
    """Of one winding: inductances of several in place are told by other figures."""
    return bool(case.design.core) and not case.windings


def _in_metal(case: Case) -> bool:
    return _cored(case) and bool(pieces(case))


def _direct(case: Case) -> None:
    """What nearly every figure takes: the winding's path, its currents, what stands at it."""
    winding_path(case)
    pieces(case)
    case.solved("power")


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


def _in_weak_fields(case: Case) -> None:
    if pieces(case):
        with_permeabilities(case, permeability_spread(case))


def _metals(case: Case) -> None:
    _in_weak_fields(case)
    metal(case, "drive")


def _hot(case: Case) -> None:
    """How warm the copper gets, with which tolerances, and how soon."""
    case.solved("temperature")
    history(case)


_STAGES = (_direct, _phases, _cores, _ends, _hot)
"""What parts rest on, in the order in which it is solved."""
_ACROSS_THE_BOARD = (
    "flux_density_map",
    "axis_flux_density",
    "core_flux_density",
    "peak_flux_density",
    "flux_density_per_root_watt",
    "half_millitesla_distance",
    "flux_density",
)
_OVER_THE_BOARD = ("flux_density_over_board", "viewing_film_area")

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
    "capacitance of a coil alone": Part(
        figures=("winding_capacitance",), kept=(BETWEEN_TURNS, of_turns), where=_alone, after=_direct
    ),
    "eddy currents in the copper of a coil alone": Part(
        kept=(eddy_impedance,),
        ask=partial(Case.kept, compute=eddy_impedance),
        where=_alone,
        after=_direct,
    ),
    "windings on one another": Part(
        figures=("inductance_matrix", "coupling", "force_on_windings"),
        kept=("inductance matrix",),
        where=_coupled,
        after=_direct,
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
        after=_direct,
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
        figures=(*_ACROSS_THE_BOARD, *_OVER_THE_BOARD), where=_fields_of_cores, after=_direct
    ),
    "field across the board": Part(figures=_ACROSS_THE_BOARD, where=_bare, after=_direct),
    "field over the board": Part(figures=_OVER_THE_BOARD, where=_bare, after=_direct),
    "limits of temperature": Part(
        figures=(
            "largest_current",
            "largest_voltage",
            "duty_limit",
            "pulse_limit",
            "largest_pulse_current",
            "temperature_limits",
        ),
        where=_alone,
        after=_hot,
    ),
    "copper": Part(figures=("copper_areas", "smallest_spacing"), where=_any, after=_direct),
}
"""By name. Other processes begin with the first; this one, while it waits for them, with the last."""


def tasks(case: Case) -> Mapping[str, Task]:
    """The parts that a case has, for other processes; `helped` takes what they find."""
    return {name: partial(_found, case, part) for name, part in _parts(case).items()}


def helped(case: Case, others: Shared) -> Case:
    """The case, while others share its `tasks`; where there are others, what several rest on is solved."""
    parts, each = _parts(case), tasks(case)
    last = frozenset(name for part in parts.values() for name in part.figures)
    case = replace(case, bring=_Brought(case, parts, others).bring, last=last)
    if others.workers > 1:
        for solve in _STAGES:
            begun = {name: each[name] for name, part in parts.items() if part.after is solve}
            if begun:
                with suppress(UnsolvedError):
                    solve(case)
                others.add(begun)
                others.begin(begun)
    return case


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
        if part is None or part in self._here or part not in self._others.tasks:
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
