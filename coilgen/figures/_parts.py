"""Figures that rest on work of their own, which another process may do."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import partial

from coilgen.errors import UnsolvedError
from coilgen.frozen import dataclass
from coilgen.processors import Shared, Task
from coilgen.result.figure import Case, Figure

Found = tuple[dict[str, Figure | None], dict[str, UnsolvedError]]
"""Figures by name, and why others are not told."""


@dataclass(frozen=True, kw_only=True)
class Part:
    """Figures that share what takes long among them, and with no others; where: that is so in a case."""

    figures: tuple[str, ...]
    where: Callable[[Case], bool]


def _pulled(case: Case) -> bool:
    return case.design.target is not None


def _pushed(case: Case) -> bool:
    return case.design.magnet is not None and bool(case.design.core)


def _passed(case: Case) -> bool:
    return case.design.mover is not None


def _apart_from_target(case: Case) -> bool:
    """Fields are told of cores alone: without a target these are solved for inductances too."""
    return bool(case.design.core) and case.design.target is not None


PARTS: Mapping[str, Part] = {
    "pull on the target": Part(
        figures=("pull_on_target", "pull_against_gap", "pull_against_current", "holding_current"),
        where=_pulled,
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
    return {name: partial(_found, case, figures) for name, figures in _parts(case).items()}


def helped(case: Case, others: Shared) -> Case:
    """The case, while others share its `tasks`."""
    parts = _parts(case)
    last = frozenset(name for figures in parts.values() for name in figures)
    return replace(case, bring=_Brought(case, parts, others).bring, last=last)


def _parts(case: Case) -> dict[str, tuple[str, ...]]:
    return {name: part.figures for name, part in PARTS.items() if part.where(case)}


def _found(case: Case, figures: tuple[str, ...]) -> Found:
    """As another process tells them."""
    known = {name: case.solved(name) for name in figures}
    unsolved = {name: case.unsolved[name] for name in figures if name in case.unsolved}
    return {name: figure for name, figure in known.items() if name not in unsolved}, unsolved


class _Brought:
    """Brings to a case the figures of a part when the first of them is asked for."""

    def __init__(self, case: Case, parts: Mapping[str, tuple[str, ...]], others: Shared) -> None:
        self._case, self._parts, self._others = case, parts, others
        self._part = {name: part for part, figures in parts.items() for name in figures}
        self._here: set[str] = set()

    def bring(self, figure: str) -> None:
        """Leaves what nobody began to this process; while it waits for others it does what else there is."""
        part = self._part.get(figure)
        if part is None or part in self._here:
            return
        if not self._others.mine(part):
            self._meanwhile(part)
            found: Found | None = self._others.answer(part)
            if found is not None:
                self._case.known.update(found[0])
                self._case.unsolved.update(found[1])
        self._here.add(part)

    def _meanwhile(self, part: str) -> None:
        while not self._others.there(part):
            spare = self._others.spare(self._parts)
            if spare is None:
                return
            self._here.add(spare)
            for name in self._parts[spare]:
                self._case.solved(name)
