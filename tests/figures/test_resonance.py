"""Self-resonance of whole designs against a ladder of circles solved node by node."""

import numpy as np
import pytest
from flat_rings import ring_self_inductance
from small_design import SMALL

from coilgen.design.reading import read_text
from coilgen.figures.electrical.capacitance import capacitances_between_turns
from coilgen.job import case_of, draw
from coilgen.physics.inductance.coaxial_circles import mutual_inductance
from coilgen.result.figure import Case


def case(text: str = SMALL) -> Case:
    asked = read_text(text)
    return case_of(asked, *draw(asked))


def ladder_of_circles(found: Case) -> np.ndarray:
    """Inductances (n, n) H of circles, inward on the odd and outward on the even layers, by their middles."""
    asked, stackup = found.design.winding, found.design.board.stackup
    pitch, count = asked.trace_width + asked.trace_spacing, int(asked.turns)
    outer = (asked.outer_size - asked.trace_width) / 2
    inward = outer - pitch * np.arange(count)
    radius = np.concatenate([inward[:: 1 if k % 2 == 0 else -1] for k in range(asked.layers)])
    height = np.repeat([stackup.height(k + 1) for k in range(asked.layers)], count)
    with np.errstate(divide="ignore", invalid="ignore"):
        matrix = mutual_inductance(radius[:, None], radius, height[:, None] - height)
    own = [ring_self_inductance(r, asked.trace_width, stackup.copper[0]) for r in radius]
    np.fill_diagonal(matrix, own)
    return np.asarray(matrix)


def reactance(inductances: np.ndarray, branches: np.ndarray, frequency: float) -> float:
    """Of the ladder, ohm: half of each branch at the turns' starts, half at their ends, one end at earth."""
    turns, s = len(inductances), 2j * np.pi * frequency
    drop = np.eye(turns, turns + 1) - np.eye(turns, turns + 1, k=1)
    load = s / 2 * (np.diag(branches.sum(axis=1)) - branches)
    admittance = drop.T @ np.linalg.inv(s * inductances) @ drop
    admittance[:-1, :-1] += load
    admittance[1:, 1:] += load
    return float(np.linalg.inv(admittance[:-1, :-1])[0, 0].imag)


@pytest.mark.parametrize("layers", [1, 2])
def test_reactance_turns_over_at_the_resonance(layers: int) -> None:
    found = case(SMALL.replace("layers = 2", f"layers = {layers}"))
    between = capacitances_between_turns(found)
    assert between is not None
    circles = ladder_of_circles(found)
    circles *= found.value("inductance") / circles.sum()
    frequency = found.value("self_resonance")
    below, above = (reactance(circles, between.branches, share * frequency) for share in (0.99, 1.01))
    assert below > 0
    assert above < 0


def test_one_inductance_with_one_capacitance_is_too_high() -> None:
    found = case()
    alone = 1 / (2 * np.pi * np.sqrt(found.value("inductance") * found.value("winding_capacitance")))
    assert 1.005 < alone / found.value("self_resonance") < 1.1


def test_layers_side_by_side_resonate_higher() -> None:
    """Less inductance, and no voltage between the layers."""
    keys = 'connection = "parallel"\n'
    assert case(SMALL + keys).value("self_resonance") > 1.5 * case().value("self_resonance")


def test_rows_of_impedance_past_the_resonance_are_told() -> None:
    """Rows at 1, 2 and 5 MHz; a coil that resonates over all of them stays without a word."""
    small, large = case(), case(SMALL.replace("turns = 3", "turns = 20").replace("16 mm", "60 mm"))
    told = [found.figure("self_resonance") for found in (small, large)]
    assert told[0] is not None and told[0].cautions == ()
    assert told[1] is not None and 2e6 < told[1].value < 5e6
    (caution,) = told[1].cautions
    assert "the bare coil is a capacitor: impedance from 5.0 MHz on" in caution
