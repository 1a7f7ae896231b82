"""Parts of a design's figures rest on work of their own: what one process computes, no other computes."""

from collections import defaultdict
from collections.abc import Callable, Collection, Hashable, Mapping
from dataclasses import replace
from tomllib import loads
from typing import Any

import pytest
from mover_designs import FAN, changed
from small_design import TABLES

from coilgen.catalogue import templates
from coilgen.design.reading import read_tables
from coilgen.figures._parts import PARTS, helped, tasks
from coilgen.job import case_of, draw, quantities
from coilgen.processors import Task
from coilgen.result.figure import Case

CORE = {"material": "soft iron", "form": "plate", "width": 14, "depth": 14, "thickness": 1, "place": "bottom"}
TARGET = {"material": "soft iron", "form": "disc", "diameter": 6, "thickness": 1, "gap": 1}
MAGNET = {"grade": "N42", "form": "disc", "diameter": 5, "thickness": 2, "gap": 1}
SUPPLY = {**TABLES, "drive": {"voltage": 1}}
PLATE = {"width": 20, "thickness": 2}
SINE = {"current": 0.1, "waveform": "sine", "frequency": 20e3}
ROUND = {"shape": "round", "turns": 6, "trace_width": 0.3, "trace_spacing": 0.3, "outer_size": 24}
UPPER = {**ROUND, "name": "upper", "copper_layers": [1, 2], "drive": SINE}
LOWER = {**ROUND, "name": "lower", "copper_layers": [3, 4], "drive": SINE, "terminals": {"side": "north"}}
COILS = {"name": "pair", "winding": [UPPER, {**LOWER, "outer_size": 19}]}
IN_POCKETS = {"place": "pocket", "diameter": 2, "thickness": 1.6, "material": "soft iron"}

DESIGNS: dict[str, dict[str, Any]] = {
    "plate": {**SUPPLY, "mounting": {"base_plate": PLATE}},
    "sine": {**TABLES, "drive": {"voltage": 1, "waveform": "sine", "frequency": 2000}},
    "sine, plate, target": {
        **TABLES,
        "drive": {"voltage": 1, "waveform": "sine", "frequency": 2000},
        "mounting": {"base_plate": PLATE},
        "target": TARGET,
    },
    "several": COILS,
    "several, plate": {**COILS, "mounting": {"base_plate": PLATE}},
    "magnet": {**SUPPLY, "magnet": MAGNET},
    "target": {**SUPPLY, "target": TARGET},
    "core": {**SUPPLY, "core": [CORE]},
    "core, target": {**SUPPLY, "core": [CORE], "target": TARGET},
    "core, magnet": {**SUPPLY, "core": [CORE], "magnet": MAGNET},
    "core, target, magnet": {
        **SUPPLY,
        "core": [CORE],
        "target": TARGET,
        "magnet": {**MAGNET, "place": "bottom"},
    },
    "stirrer": loads(templates()["stirrer-drive"]),
    "latch": loads(templates()["specimen-drawer-latch"]),
    "mover": FAN,
    "mover, cores": changed(FAN, {"pocket": {"size": 2.2}, "core": [IN_POCKETS]}),
}
CORED = ("core", "core, magnet", "core, target", "core, target, magnet", "mover, cores")
SLOW = (*CORED, "stirrer", "latch", "plate", "sine", "sine, plate, target", "several, plate")
LIGHT = {"current", "hot_current", "power", "resistance_20c", "phase_resistance", "_path"}
LIGHT |= {"_graded", "joined", "coil", "of_turns", "_per_ampere"}
"""Figures, and functions whose keys begin with them, that take less time than it takes to tell them."""


class Begun:
    """Stands for other processes: each task is done at once, apart, with what is known when it is begun."""

    workers = 2

    def __init__(self, case: Case) -> None:
        self.case, self.at_work = case, "this process"
        self.tasks: dict[str, Task] = {}
        self.found: dict[str, Any] = {}

    def add(self, tasks: Mapping[str, Task]) -> None:
        """They are those of the case, taken anew as each is begun."""
        self.tasks |= tasks

    def begin(self, names: Collection[str]) -> None:
        for name in names:
            self.at_work = name
            self.found[name] = self._apart()[name]()
            self.at_work = "this process"

    def _apart(self) -> Mapping[str, Task]:
        """The tasks of another process: on its own copy of what is known by now."""
        known = {each: dict(getattr(self.case, each)) for each in ("known", "shared", "unsolved")}
        return tasks(replace(self.case, **known))

    def mine(self, name: str) -> bool:
        return False

    def there(self, name: str) -> bool:
        return True

    def answer(self, name: str) -> Any:
        return self.found[name]


def _named(key: Hashable) -> str:
    """A key's function by its name, with what is told to it."""
    first, *told = key if isinstance(key, tuple) else (key,)
    name = getattr(first, "__name__", str(first))
    return f"{name} of {told[0]}" if told and told[0] else name


def _first(key: str) -> str:
    return key.removeprefix("own ").split()[0]


@pytest.fixture
def computed(monkeypatch: pytest.MonkeyPatch) -> Callable[[dict[str, Any]], dict[str, set[str]]]:
    """Which processes compute each figure, and each key of what figures share, of a design's tables."""

    def told(tables: dict[str, Any]) -> dict[str, set[str]]:
        by: defaultdict[str, set[str]] = defaultdict(set)
        others: list[Begun] = []
        once, figure = Case.once, Case.computed

        def note(case: Case, name: str) -> None:
            own = "" if case.design is whole.design else "own " * bool(case.copper_layers)
            if case.design is whole.design or own:
                by[own + name].add(others[0].at_work if others else "")

        def noted_once(case: Case, key: Hashable, compute: Callable[[], Any]) -> Any:
            return once(case, key, lambda: (note(case, _named(key)), compute())[1])

        def noted_figure(case: Case, name: str) -> Any:
            note(case, name)
            return figure(case, name)

        design = read_tables(tables)
        whole = replace(case_of(design, *draw(design)), coarser=2.0)
        begun = Begun(whole)
        others.append(begun)
        monkeypatch.setattr(Case, "once", noted_once)
        monkeypatch.setattr(Case, "computed", noted_figure)
        case = helped(whole, begun)  # type: ignore[arg-type]  # stands for it
        for name in sorted(quantities(), key=case.last.__contains__):
            case.solved(name)
        return by

    return told


@pytest.mark.parametrize(
    "name", [pytest.param(name, marks=[pytest.mark.slow] * (name in SLOW)) for name in DESIGNS]
)
def test_what_one_process_computes_no_other_does(name: str, computed: Any) -> None:
    by = computed(DESIGNS[name])
    assert {key: who for key, who in by.items() if len(who) > 1 and _first(key) not in LIGHT} == {}
    design = read_tables(DESIGNS[name])
    case = case_of(design, *draw(design))
    early = {"impedance", "eddy_impedance"} if "sine" in name else set[str]()  # which the current rests on
    for told, part in PARTS.items():
        if part.where(case):
            kept = {*part.figures, *map(_named, part.kept)} - early
            there = {key: by[key] for key in by if key.partition(" of ")[0] in kept}
            assert there == {key: {told} for key in there}
            assert there or kept == set()
