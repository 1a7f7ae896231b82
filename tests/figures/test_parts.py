"""Parts of a design's figures that other processes compute: the same figures, the same errors."""

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace

import pytest
from small_design import small_with

from coilgen.catalogue import templates
from coilgen.design.reading import read_text
from coilgen.errors import UnsolvedError
from coilgen.exports.data.result_json import files
from coilgen.figures._parts import PARTS, helped
from coilgen.job import case_of, draw, predict, quantities
from coilgen.processors import shared
from coilgen.result.figure import Answer, Case, Quantity
from coilgen.result.result import Result

CORE = {"material": "soft iron", "form": "plate", "width": 14, "depth": 14, "thickness": 1, "place": "bottom"}
TARGET = {"material": "soft iron", "form": "disc", "diameter": "6 mm", "thickness": "1 mm", "gap": "1 mm"}


@pytest.mark.parametrize("tables", [{}, {"target": TARGET}, {"target": TARGET, "core": [CORE]}])
def test_each_figure_is_of_one_part_at_most(tables: dict[str, object]) -> None:
    design = small_with(**tables)
    case = case_of(design, *draw(design))
    told = [name for part in PARTS.values() if part.where(case) for name in part.figures]
    assert len(told) == len({*told})
    assert {*told} <= {*quantities()}


def _same(result: Result, other: Result) -> None:
    assert files(result) == files(other)
    assert result.cautions == other.cautions


@pytest.mark.parametrize("name", ["optical-shutter", "fan-stator"])
def test_any_number_of_processes_tells_the_same(name: str, whole: Callable[[str], Result]) -> None:
    _same(predict(read_text(templates()[name]), workers=3), whole(name))


@pytest.mark.slow
def test_any_number_of_processes_tells_the_same_of_cores_and_target(whole: Callable[[str], Result]) -> None:
    name = "specimen-drawer-latch"
    design = read_text(templates()[name])
    for workers in (2, 4):
        _same(predict(design, workers=workers), whole(name))


def _stub(name: str, compute: Callable[[Case], Answer | None]) -> Quantity:
    return Quantity(name=name, unit="", says="", group="", compute=compute, of="board")


@contextmanager
def _beside(pull: Callable[[Case], Answer | None], workers: int) -> Iterator[Case]:
    """Of a target, whose figures tell the process that computed them."""
    design = small_with(target=TARGET)
    case = case_of(design, *draw(design))
    where = Answer(value=os.getpid(), model="")
    told = {name: _stub(name, lambda case: replace(where, value=os.getpid())) for name in quantities()}
    case = replace(case, quantities=told | {"pull_on_target": _stub("pull_on_target", pull)})
    with shared({}, workers) as others:
        yield helped(case, others)


def test_another_process_computes_the_pull() -> None:
    with _beside(lambda case: Answer(value=os.getpid(), model=""), 2) as case:
        assert case.value("power") == os.getpid()
        there = {case.value(name) for name in PARTS["pull on the target"].figures}
    assert len(there) == 1


@pytest.mark.parametrize("workers", [1, 2])
def test_a_solver_that_gives_up_is_told_where_the_figure_is_asked(workers: int) -> None:
    def unsolved(case: Case) -> Answer | None:
        raise UnsolvedError.at("target", "cannot be computed")

    with _beside(unsolved, workers) as case:
        with pytest.raises(UnsolvedError, match="target: cannot be computed"):
            case.figure("pull_on_target")
        assert case.solved("pull_on_target") is None
        assert case.value("holding_current") > 0
    assert [*case.unsolved] == ["pull_on_target"]


@pytest.mark.parametrize("workers", [1, 2])
def test_a_fault_of_ours_shows_where_the_figure_is_asked(workers: int) -> None:
    def broken(case: Case) -> Answer | None:
        raise ZeroDivisionError("ours")

    with pytest.raises(ZeroDivisionError, match="ours"), _beside(broken, workers) as case:
        case.figure("pull_on_target")
