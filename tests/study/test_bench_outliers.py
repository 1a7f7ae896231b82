"""What no tolerance explains is named: a probe at another height, a winding that is reversed, or neither."""

import re
from dataclasses import replace

import numpy as np
import pytest
from benches import coil

from coilgen.study.bench.bench import problem_of
from coilgen.study.bench.outliers import HEIGHT, REVERSED, SHORTED, SIGN, UNKNOWN, shorted_shares, sorted_out
from coilgen.study.bench.reading import Conditions, Reading

HEIGHTS = (1e-3, 2e-3, 4e-3)
ERRORS = (0.6, -0.8, 0.5, -0.3)
"""Of the readings, in their standard deviations."""


def read(sample, stood=HEIGHTS, sign=1.0):
    """Resistance and flux densities told of `HEIGHTS`, with the probe where it stood."""
    design = coil().unchecked(variant=())
    at = [Conditions(current=0.5, height=each, side="top") for each in stood]
    asked = (
        Reading(
            sample=sample,
            figure="resistance",
            value=1.0,
            uncertainty=0.003,
            at=Conditions(temperature=23.0),
        ),
        *(Reading(sample=sample, figure="flux_density", value=1.0, uncertainty=0.01, at=each) for each in at),
    )
    problem = problem_of(asked, {sample: design}, {})
    found = []
    for each, error, height in zip(asked, ERRORS, (None, *HEIGHTS), strict=True):
        value = problem.forecast(each, np.zeros(len(problem.causes))).value
        value *= (1 + error * each.uncertainty) * (sign if height is not None else 1.0)
        told = each.at if height is None else replace(each.at, height=height)
        found.append(replace(each, value=value, uncertainty=each.uncertainty * abs(value), at=told))
    return found


def judged(*readings):
    """What is wrong with whose board, the sentences, and which readings count."""
    designs = dict.fromkeys((each.sample for each in readings), coil().unchecked(variant=()))
    fit, named, _ = sorted_out(problem_of(tuple(readings), designs, {}))
    return [(each.what, each.sample) for each in named], [each.says for each in named], [*fit.used]


def test_a_probe_that_stood_higher_at_one_reading_is_named():
    what, says, used = judged(*read("A1", stood=(1e-3, 2.6e-3, 4e-3)))
    assert what == [(HEIGHT, "A1")]
    told = re.search(r"stood ([0-9.]+) mm farther from the board than told", says[0])
    assert told is not None
    assert float(told[1]) == pytest.approx(0.6, abs=0.1)
    assert used == [True, True, False, True]


@pytest.mark.slow
def test_a_probe_that_stood_lower_at_all_readings_is_named():
    what, says, used = judged(*read("A1", stood=[each - 0.5e-3 for each in HEIGHTS]))
    assert what == [(HEIGHT, "A1")]
    assert "mm nearer to the board than told" in says[0]
    assert used == [True, False, False, False]


@pytest.mark.slow
def test_a_reversed_winding_is_named_beside_a_sound_board():
    what, says, used = judged(*read("A1"), *read("A2", sign=-1.0))
    assert what == [(REVERSED, "A2")]
    assert "a reversed winding, terminals swapped or the magnet turned" in says[0]
    assert used == [True] * 4 + [True, False, False, False]  # its resistance counts


@pytest.mark.slow
def test_sound_readings_are_named_nothing():
    what, _, used = judged(*read("A1"))
    assert (what, used) == ([], [True] * 4)


@pytest.mark.slow
def test_a_reading_that_nothing_explains_is_left_out_and_asked_for_again():
    first, *others = read("A1")
    what, says, used = judged(replace(first, value=2 * first.value), *others)
    assert what == [(UNKNOWN, "A1")]
    assert "read it again" in says[0]
    assert used == [False, True, True, True]


def test_one_sign_among_others_is_told_as_that():
    """A scale or a meter that shows no sign: with it turned the reading fits."""
    first, *others = read("A1")
    others[1] = replace(others[1], value=-others[1].value)
    what, says, used = judged(first, *others)
    assert what == [(SIGN, "A1")]
    assert "would fit with it turned" in says[0]
    assert used == [True, True, False, True]


def test_no_probe_stood_within_the_board():
    """A flux density a half too strong at a tenth of a millimetre: no height above the board explains it."""
    near = (1e-4, 2e-3, 4e-3)
    (first, strong, *others) = read("A1", stood=near)
    strong = replace(strong, value=1.5 * strong.value, at=replace(strong.at, height=near[0]))
    what, says, _ = judged(first, strong, *others)
    assert what == [(UNKNOWN, "A1")]
    assert "nothing that is looked for explains it" in says[0]


def test_of_a_board_whose_shorted_turn_is_named_nothing_says_that_it_cannot_be_told():
    """Of another, read by a poor meter, it is said."""
    designs = dict.fromkeys(("A1", "A2", "A3"), coil().unchecked(variant=()))
    at = {
        "resistance": Conditions(temperature=23.0),
        "inductance": Conditions(temperature=23.0, frequency=1e5),
    }
    asked = tuple(
        Reading(
            sample=sample,
            figure=figure,
            value=1.0,
            uncertainty=0.05 if sample == "A3" else 0.003,
            at=at[figure],
        )
        for sample in designs
        for figure in at
    )
    problem = problem_of(asked, designs, {})
    readings = []
    for each, share in zip(asked, shorted_shares(problem, "A2"), strict=True):
        sound = problem.forecast(each, np.zeros(len(problem.causes))).value
        value = sound * (1 + share) if each.sample == "A2" else sound
        readings.append(replace(each, value=value, uncertainty=each.uncertainty * value))
    _, named, untold = sorted_out(problem_of(tuple(readings), designs, {}))
    assert [(each.what, each.sample) for each in named] == [(SHORTED, "A2")]
    (said,) = untold
    assert said.startswith("A3: these readings cannot tell whether a turn is shorted")
