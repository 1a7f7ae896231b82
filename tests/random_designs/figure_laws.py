"""Laws that every design's figures keep: finite, of the right sign, within their bands, in agreement."""

import json
import math
from collections.abc import Iterator
from itertools import pairwise
from typing import Any

import numpy as np
from made import Made

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
)
"""How figures begin that may be negative: forces, fields and areas with their direction, temperatures."""


def numbers_are_finite(made: Made) -> Iterator[str]:
    for name, figure in made.result.figures.items():
        for where, value in _numbers(figure.value):
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


def _numbers(value: Any, where: str = "") -> Iterator[tuple[str, float]]:
    if isinstance(value, bool | str) or value is None:
        return
    if isinstance(value, int | float):
        yield where, float(value)
    elif isinstance(value, dict):
        for key, own in value.items():
            yield from _numbers(own, f"{where}.{key}")
    elif isinstance(value, list | tuple):
        for number, own in enumerate(value):
            yield from _numbers(own, f"{where}[{number}]")
    else:
        yield f"{where} of an unknown kind {type(value).__name__}", math.nan


def signs_are_right(made: Made) -> Iterator[str]:
    for name, figure in made.result.figures.items():
        if not name.startswith(SIGNED):
            for where, value in _numbers(figure.value):
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
    parallel = winding.connection == "parallel"
    turns = winding.turns * (1 if parallel else winding.layers)
    told, area = made.value("turns_total"), made.value("turn_area")
    if told is not None and abs(told - turns) > 1e-9 * turns:
        yield f"turns_total {told}, {turns} asked"
    sense = 1 if winding.direction == "counterclockwise" else -1
    # Where turns end away from the terminals, a lead goes on round with up to a turn more.
    least, most = 0.2 * winding.opening**2 * turns, 1.5 * winding.span**2 * (turns + 1)
    if area is not None and not least <= sense * area <= most:
        yield f"turn_area {area} of {turns} turns between {winding.opening} and {winding.span} m"
    resistance, (least, most) = made.value("resistance_20c"), _strokes_resistance(made)
    if resistance is not None and not parallel and not 0.95 * least <= resistance <= 1.05 * most:
        yield f"resistance_20c {resistance}, strokes have {least} to {most}"
    yield from _ohms(made)


def _strokes_resistance(made: Made) -> tuple[float, float]:
    """Least of all strokes one after another, and most with all barrels, plated with 20 um, as well, ohm.

    1.7241e-8 ohm m: annealed copper, IEC 60028. A corner may lack up to 0.56 of a square (Hall, Thin Solid
    Films 1, 1967).
    """
    most = shorter = 0.0
    around = [math.pi * hole.diameter for hole in made.own.holes]
    barrels = sum(1.7241e-8 * made.design.board.stackup.thickness / (one * 20e-6) for one in around)
    for layer, sheet in made.board.copper.items():
        of_square = 1.7241e-8 / made.design.board.stackup.copper[layer - 1]
        most += of_square * sum(draw.length / draw.width for draw in sheet.image.draws)
        corners = [
            1 for chain in sheet.chains for a, b in pairwise(chain) if a.centre is None and b.centre is None
        ]
        shorter += of_square * 0.56 * len(corners)
    return most - shorter, most + barrels


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
    temperature_is_the_hottest_coppers,
    numbers_are_finite,
    signs_are_right,
    bands_hold_their_values,
    matrices_are_symmetric,
    figures_agree,
    files_are_whole,
)
"""Every law of figures."""
