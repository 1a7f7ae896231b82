"""The screen: fast figures beside exact ones, and what it leaves to exact runs."""

import numpy as np
import pytest
from small_design import SMALL, small_with

from coilgen.design.reading import read_text
from coilgen.errors import DesignError
from coilgen.study.evaluator import Evaluator
from coilgen.study.plan import plan
from coilgen.study.screen.screen import FEW, NO_ROOM, screen
from coilgen.study.sweep import sweep
from coilgen.study.sweep_screened import Combinations

FIGURES = (
    "rules_broken",
    "resistance_20c",
    "inductance",
    "current",
    "force_on_magnet",
    "temperature",
    "hot_power",
)
PUSH = small_with(
    drive={"voltage": 0.5},
    magnet={"form": "disc", "diameter": 4, "thickness": 2, "grade": "N42", "gap": 0.5},
)
MAGNETS = (
    {"form": "disc", "diameter": 5, "thickness": 2},
    {"form": "block", "width": 5, "depth": 3, "thickness": 2},
)
PLACES = ("top", "bottom")
TRIED = 8
"""Screened rows that are computed exactly beside."""


def vary(**more):
    return {
        "winding.turns": [2, 3, 4, 5, 6],
        "winding.trace_width": {"from": 0.2, "to": 0.34, "step": 0.02},
    } | more


def beside(design, keys, figures=FIGURES, seed=1, tried=TRIED):
    """A screened sweep, with rows of it that were screened and their exact values."""
    found, asked = sweep(design, keys, figures, screen=True), plan(design, keys, figures)
    screened = np.flatnonzero(~found["exact"])
    rows = np.random.default_rng(seed).choice(screened, min(tried, len(screened)), replace=False)
    evaluator = Evaluator(figures)
    exact = []
    for row in rows:
        try:
            exact.append(evaluator.of(asked.built(int(row))))
        except DesignError as error:
            exact.append(error)
    return found, rows, exact


def kept(found, rows, exact, figures=FIGURES) -> int:
    """Asserts the promised errors; how many rows are right in whether they fit."""
    right = 0
    for row, one in zip(rows, exact, strict=True):
        fits = one.fault is None and not one.values["rules_broken"]
        right += bool(fits == (found["status"][row] == "ok" and not found["rules_broken"][row]))
        if one.fault is not None or found["status"][row] != "ok":
            continue
        for name in figures[1:]:
            told, true = found[name][row], one.values[name]
            error = {"resistance_20c": 0.003, "current": 0.003}.get(name, 0.01)
            assert abs(told - true) <= (2.0 if name == "temperature" else error * abs(true)), name
    return right


@pytest.fixture(scope="module")
def pushed():
    return beside(PUSH, vary(**{"magnet.gap": [0.3, 0.5, 0.8, 1.2, 2.0]}))


def test_screened_rows_are_as_near_to_exact_ones_as_promised(pushed) -> None:
    found, rows, exact = pushed
    assert len(rows) == TRIED
    assert kept(found, rows, exact) == TRIED


def test_rows_that_are_learned_from_are_exact_and_few(pushed) -> None:
    found = pushed[0]
    assert 20 < found["exact"].sum() < 120
    row = int(np.flatnonzero(found["exact"])[0])
    design = PUSH.changed({axis.key: found[axis.key][row] for axis in found.plan.axes})
    assert Evaluator(FIGURES).of(design).values["current"] == found["current"][row]


@pytest.mark.slow
def test_what_has_no_room_or_breaks_a_rule_is_told_from_what_fits() -> None:
    keys = vary(**{"winding.outer_size": [6.5, 7.5, 8.5, 13, 16], "winding.trace_spacing": [0.1, 0.2]})
    small = small_with(board={"outline": "round", "size": 17})
    figures = FIGURES[:2]
    found, rows, exact = beside(small, keys, figures, tried=30)
    assert {"ok", NO_ROOM} <= {*found["status"]}
    assert {0.0, 1.0} <= {*found["rules_broken"][~found["exact"]]}
    assert kept(found, rows, exact, figures) == 30


def test_numbers_are_the_same_on_every_run_and_depend_on_the_designs_alone() -> None:
    asked = plan(PUSH, vary(**{"drive.voltage": [0.3, 0.4, 0.5, 0.6]}), ("current",))
    one, other = (screen(Combinations(asked), asked.figures) for _ in range(2))
    assert np.array_equal(one.figures["current"], other.figures["current"])
    assert np.array_equal(one.exact, other.exact)


@pytest.mark.parametrize(
    ("tables", "says"),
    [
        (
            {
                "target": {"form": "disc", "diameter": 8, "thickness": 1, "gap": 0.5},
                "magnet": {**MAGNETS[0], "grade": "N42", "gap": 0.5, "place": "bottom"},
            },
            "has a magnet and a target",
        ),
        ({"drive": {"voltage": 1, "waveform": "sine", "frequency": 1e4}}, "is driven by waveform"),
        ({"drive": {"voltage": 1, "current_limit": 0.1}}, "has a supply that gives in"),
    ],
)
def test_what_is_not_covered_is_left_with_its_reason(tables, says) -> None:
    found = screen([small_with(**tables)] * 3, ("current",))
    assert not found.told.any()
    ((reason, count),) = found.left.items()
    assert says in reason
    assert count == 3


def test_few_designs_and_other_figures_are_left() -> None:
    few = screen([PUSH] * (FEW - 1), ("current",))
    assert few.left == {f"fewer than {FEW} alike": FEW - 1}
    other = screen([PUSH] * FEW, ("current", "winding_capacitance"))
    assert other.left == {"winding_capacitance is not screened": FEW}
    assert not other.told.any()


def test_words_make_families_and_faults_are_told_as_exact_runs_tell_them() -> None:
    keys = {"terminals.side": ["south", "north"], "winding.turns": [3, 40]}
    found = sweep(read_text(SMALL), keys, ("current",), screen=True)
    assert found["exact"].all()
    assert found["status"][1].startswith("winding.inner_size: cannot be derived")


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(3))
def test_random_sweeps_keep_what_is_promised(seed) -> None:
    source = np.random.default_rng(seed)
    shape = ("round", "square", "hexagonal", "octagonal", "racetrack")[seed % 5]
    size = [22, 15] if shape == "racetrack" else 18
    design = PUSH.changed(
        {
            "winding.shape": shape,
            "winding.outer_size": size,
            "winding.layers": int(source.choice([1, 2, 4])),
            "winding.trace_width": 0.2,
            "winding.trace_spacing": 0.2,
            "magnet": {**MAGNETS[seed % 2], "grade": "N42", "gap": 0.5, "place": PLACES[seed // 2 % 2]},
        }
    )
    keys = {
        "winding.turns": {"from": 3, "to": 8, "step": 1},
        "winding.trace_width": {"from": 0.14, "to": 0.3, "step": 0.02},
        "winding.trace_spacing": [0.13, 0.16, 0.2, 0.25],
        "drive.voltage": [0.2, 0.5, 0.8],
    }
    found, rows, exact = beside(design, keys, seed=seed, tried=25)
    assert len(rows) == 25
    assert kept(found, rows, exact) >= 24


IRON = {"form": "disc", "diameter": 14, "thickness": 1, "place": "bottom", "material": "soft iron"}
CLIP = {"form": "disc", "diameter": 10, "thickness": 1, "gap": 0.5, "material": "low-carbon steel"}
MAGNET = {"form": "disc", "diameter": 5, "thickness": 2, "grade": "N42", "gap": 1.5}


@pytest.mark.slow
@pytest.mark.parametrize(
    ("bodies", "figures"),
    [
        ({"core": [IRON], "target": CLIP}, ("pull_on_target", "holding_current", "inductance_in_place")),
        ({"core": [IRON], "magnet": MAGNET}, ("force_on_magnet", "force_reversed", "inductance_in_place")),
    ],
)
def test_fixed_cores_target_and_magnet_are_screened_from_few_exact_runs(bodies, figures) -> None:
    design = small_with(drive={"voltage": 0.5}, **bodies)
    found, rows, exact = beside(
        design, vary(**{"winding.outer_size": [15.5, 16, 16.5, 17, 17.5]}), figures, tried=3
    )
    assert len(rows) == 3
    assert found["exact"].sum() <= 54  # two rounds of 12 and 3 for each key, and 6 each to try them
    for row, one in zip(rows, exact, strict=True):
        for name in figures:
            assert found[name][row] == pytest.approx(one.values[name], rel=0.01)
