"""Laws that every design's figures keep: finite, of the right sign, within their bands, in agreement."""

import json
import math
from collections.abc import Iterator
from itertools import pairwise
from typing import Any

import numpy as np
from board_reader import Hole
from made import Made

from coilgen.design.design import Design

SIGNED = (
    "force",
    "torque",
    "pull",
    "behaviour",
    "flux_density",
    "axis_flux_density",
    "core_flux_density",
    "layer_inductances",
    "layer_coupling",
    "closed_forms",
    "temperature",
    "body_temperatures",
    "mean_temperature",
    "pulse_temperature",
    "turn_area",
    "moment",
    "lift_margin",
    "impedance",
    "current_against_time",
    "inductance_matrix",
    "coupling",
    "phase_inductance_matrix",
    "winding_temperatures",
    "coil_phases",
)
"""How figures begin that may be negative: forces, fields and areas with their direction, temperatures."""


def reads_back(made: Made) -> Iterator[str]:
    """The JSON file's design is the design again."""
    told = json.loads(json.dumps({**made.design.resolved(), "variant": []}))
    again = json.loads(json.dumps(Design.from_resolved(told).resolved()))
    if again != told:
        yield f"read back, {[key for key in told if again.get(key) != told[key]]} differ"


def numbers_are_finite(made: Made) -> Iterator[str]:
    for name, figure in made.result.figures.items():
        for where, value in numbers(figure.value):
            if not math.isfinite(value):
                yield f"{name}{where}: {value}"


def temperature_is_the_hottest_coppers(made: Made) -> Iterator[str]:
    """No copper of the tables is hotter than it."""
    found = made.result.figures
    if "temperature" not in found:
        return
    tables = [found[name].value for name in ("body_temperatures", "winding_temperatures") if name in found]
    for row in (row for table in tables for row in table):
        copper = "copper" in row.get("body", "copper")
        if copper and row["temperature"] > found["temperature"].value + 1e-6:
            yield f"{row} is over the {found['temperature'].value} degC of temperature"


def numbers(value: Any, where: str = "") -> Iterator[tuple[str, float]]:
    if isinstance(value, bool | str) or value is None:
        return
    if isinstance(value, int | float):
        yield where, float(value)
    elif isinstance(value, dict):
        for key, own in value.items():
            yield from numbers(own, f"{where}.{key}")
    elif isinstance(value, list | tuple):
        for number, own in enumerate(value):
            yield from numbers(own, f"{where}[{number}]")
    else:
        yield f"{where} of an unknown kind {type(value).__name__}", math.nan


def signs_are_right(made: Made) -> Iterator[str]:
    for name, figure in made.result.figures.items():
        if not name.startswith(SIGNED):
            for where, value in numbers(figure.value):
                shorted = name == "smallest_spacing" and bool(made.design.hole)
                if value < 0 and not shorted and not where.endswith((".x", ".y", ".z")):
                    yield f"{name}{where}: {value}"


def bands_hold_their_values(made: Made) -> Iterator[str]:
    for name, figure in made.result.figures.items():
        if figure.band is None or not isinstance(figure.value, int | float):
            continue
        low, high = figure.band
        slack = 1e-9 * abs(figure.value)
        if not low - slack <= figure.value <= high + slack:
            yield f"{name}: {figure.value} is not in its band {low} to {high}"


def matrices_are_symmetric(made: Made) -> Iterator[str]:
    for name, figure in made.result.figures.items():
        if isinstance(figure.value, list) and figure.value and isinstance(figure.value[0], list):
            matrix = np.array(figure.value, float)
            if matrix.shape != matrix.T.shape or not np.allclose(matrix, matrix.T, rtol=1e-9, atol=0):
                yield f"{name} is not symmetric"
            elif np.linalg.eigvalsh(matrix).min() <= 0:
                yield f"{name} is not positive definite"


def figures_agree(made: Made) -> Iterator[str]:
    """Turns, areas and resistance against what the design and the files say by themselves."""
    winding = made.design.winding
    turns = winding.turns * (1 if winding.connection == "parallel" else winding.layers)
    told = made.value("turns_total")
    if told is not None and abs(told - turns) > 1e-9 * turns:
        yield f"turns_total {told}, {turns} asked"
    yield from _along_strokes(made)
    yield from _ohms(made)


NANOMETRES = 1e-9
"""m, to which files round."""
COPPER = 1.7241e-8
"""Resistivity of annealed copper at 20 degC, ohm m (IEC 60028)."""


def _along_strokes(made: Made) -> Iterator[str]:
    """Area and resistance of the current through strokes and barrels, as what they resist divides it.

    Resistance: corners may lack the outer triangle at most; barrels are plated as usual.
    """
    found, stackup = made.circuit, made.design.board.stackup
    if set(found.ends) != {"1", "2"}:
        return
    of_square = [COPPER / stackup.copper[each.layer - 1] for each in found.stretches]
    whole = [ohm * each.squares for ohm, each in zip(of_square, found.stretches, strict=True)]
    barrels = [_barrel(made, hole) for hole in made.own.holes]
    most, area = found.divided(whole, barrels)
    # Side by side, layers share the current as the figures tell it but for stubs and barrels between them.
    loose = 0.03 if made.design.winding.connection == "parallel" else 0.001
    told, slack = made.value("turn_area"), NANOMETRES * made.value("trace_length")
    slack += 0.1 * loose * abs(area - found.closing) if loose > 0.001 else 0.0
    if told is not None and abs(told - area) > slack:
        yield f"turn_area {told}, strokes enclose {area}"
    shorter = [
        ohm * max(each.squares - each.corners, 0.1 * each.squares)
        for ohm, each in zip(of_square, found.stretches, strict=True)
    ]
    least, _ = found.divided(shorter, barrels)
    resistance = made.value("resistance_20c")
    if resistance is not None and not (1 - loose) * least <= resistance <= (1 + loose) * most:
        yield f"resistance_20c {resistance}, strokes have {least} to {most}"


def _barrel(made: Made, hole: Hole) -> list[float]:
    """Ohm from each layer to the next; none of a terminal's, which is full of solder and wire."""
    stackup = made.design.board.stackup
    if any(pad.pin is not None and abs(pad.at - hole.at) < NANOMETRES for pad in made.own.copper[1].flashes):
        return []
    heights = [stackup.height(layer) for layer in range(1, stackup.layers + 1)]
    wall = made.design.tolerance.plating[1]
    return [COPPER * (a - b) / (math.pi * (hole.diameter - wall) * wall) for a, b in pairwise(heights)]


def _ohms(made: Made) -> Iterator[str]:
    value = made.value
    current, power = value("current"), value("power")
    ampere_turns, turns = value("ampere_turns"), value("turns_total")
    if current is not None and current <= 0:
        yield f"current {current}"
    if None not in (current, ampere_turns, turns) and not math.isclose(
        ampere_turns, current * turns, rel_tol=1e-6
    ):
        yield f"ampere_turns {ampere_turns} of {current} A in {turns} turns"
    if power is not None and power <= 0:
        yield f"power {power}"
    inductance, energy, layers = value("inductance"), value("stored_energy"), value("layer_inductances")
    in_series = layers is not None and made.design.winding.connection == "series"
    if in_series and not math.isclose(inductance, float(np.sum(layers)), rel_tol=0.05):
        yield f"inductance {inductance}, its layers make {np.sum(layers)}"
    if energy is not None and energy <= 0:
        yield f"stored_energy {energy}"


def files_are_whole(made: Made) -> Iterator[str]:
    """The JSON holds plain numbers, and says what the figures say."""
    name = f"{made.design.name}.json"
    if not made.whole:
        return
    if name not in made.files:
        yield f"no {name}"
        return
    told = json.loads(made.files[name], parse_constant=lambda text: f"not a number: {text}")
    if set(told["figures"]) != set(made.result.figures):
        yield "the JSON has other figures"
    for figure, content in told["figures"].items():
        if "not a number" in json.dumps(content):
            yield f"{figure} in the JSON is not a number"
    empty = [path for path, content in made.files.items() if not content]
    if empty:
        yield f"empty files {empty}"


LAWS = (
    reads_back,
    temperature_is_the_hottest_coppers,
    numbers_are_finite,
    signs_are_right,
    bands_hold_their_values,
    matrices_are_symmetric,
    figures_agree,
    files_are_whole,
)
"""Every law of figures."""
