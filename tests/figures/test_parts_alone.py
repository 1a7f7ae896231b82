"""Parts of a design's figures rest on work of their own: what one process computes, no other computes."""

from collections import defaultdict
from collections.abc import Callable, Collection, Hashable, Mapping
from dataclasses import replace
from typing import Any

import pytest
from mover_designs import FAN, changed
from small_design import TABLES

from coilgen.design.reading import read_tables
from coilgen.figures._parts import PARTS, at_once, helped, tasks
from coilgen.job import case_of, draw, quantities
from coilgen.processors import Task
from coilgen.result.figure import Case

CORE = {"material": "soft iron", "form": "plate", "width": 14, "depth": 14, "thickness": 1, "place": "bottom"}
TARGET = {"material": "soft iron", "form": "disc", "diameter": 6, "thickness": 1, "gap": 1}
MAGNET = {"grade": "N42", "form": "disc", "diameter": 5, "thickness": 2, "gap": 1}
SUPPLY = {**TABLES, "drive": {"voltage": 1}}
IN_POCKETS = {"place": "pocket", "diameter": 2, "thickness": 1.6, "material": "soft iron"}

DESIGNS: dict[str, dict[str, Any]] = {
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
    "mover": FAN,
    "mover, cores": changed(FAN, {"pocket": {"size": 2.2}, "core": [IN_POCKETS]}),
}
SLOW = ("core", "core, magnet", "core, target", "core, target, magnet", "mover, cores")
LIGHT = {"current", "hot_current", "power", "resistance_20c", "phase_resistance", "_path"}
"""Figures, and functions whose keys begin with them, that take less time than it takes to tell them."""


class Begun:
    """Stands for other processes: each task is done at once, apart, with what is known when it is begun."""

    workers = 2

    def __init__(self, case: Case, first: Collection[str]) -> None:
        self.case, self.at_work = case, "this process"
        self.found: dict[str, Any] = {}
        self.begin(first)

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


def _first(key: Hashable) -> str:
    first = key[0] if isinstance(key, tuple) else key
    return getattr(first, "__name__", str(first))


@pytest.fixture
def computed(monkeypatch: pytest.MonkeyPatch) -> Callable[[dict[str, Any]], dict[str, set[str]]]:
    """Which processes compute each figure, and each key of what figures share, of a design's tables."""

    def told(tables: dict[str, Any]) -> dict[str, set[str]]:
        by: defaultdict[str, set[str]] = defaultdict(set)
        others: list[Begun] = []
        once, figure = Case.once, Case.computed

        def note(case: Case, name: str) -> None:
            if case.design is whole.design:  # not of one winding by itself
                by[name].add(others[0].at_work if others else "")

        def noted_once(case: Case, key: Hashable, compute: Callable[[], Any]) -> Any:
            return once(case, key, lambda: (note(case, _first(key)), compute())[1])

        def noted_figure(case: Case, name: str) -> Any:
            note(case, name)
            return figure(case, name)

        design = read_tables(tables)
        whole = replace(case_of(design, *draw(design)), coarser=2.0)
        begun = Begun(whole, ())
        others.append(begun)
        monkeypatch.setattr(Case, "once", noted_once)
        monkeypatch.setattr(Case, "computed", noted_figure)
        begun.begin(at_once(whole))
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
    assert {key: who for key, who in by.items() if len(who) > 1 and key not in LIGHT} == {}


@pytest.mark.slow
def test_parts_hold_what_they_are_to_bring(computed: Any) -> None:
    by = computed(DESIGNS["core, target, magnet"])
    for name, part in PARTS.items():
        if name == "what a mover does":
            continue
        assert {key for key in map(_first, part.kept) if by[key] != {name}} == set()
        assert {figure for figure in part.figures if by[figure] != {name}} == set()
