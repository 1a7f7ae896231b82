"""Laws of physics that tie a design's figures to one another, to its files, and to a design in other words.

A law yields a sentence for everything that breaks it.
"""

import math
from collections.abc import Iterator, Mapping
from itertools import combinations, pairwise
from typing import Any

import numpy as np
from changed_laws import changed, figures, of_made, value_of
from figure_laws import numbers
from made import Made, remade

from coilgen.design.design import Design
from coilgen.design.keys import SI
from coilgen.design.reading import read_tables
from coilgen.job import check, with_figures

OF_COPPER = (
    "trace_length",
    "smallest_spacing",
    "smallest_width",
    "resistance_20c",
    "turn_area",
    "copper_mass",
)
"""Figures that are quick."""
NEXT_TO_NOTHING = 1e-6
"""A, the least current that a design may ask for: it warms nothing."""
INK = 1e-3
"""To which areas of traces agree."""
ENDS = 1e-8
"""m2, that the round ends of a few leads lose in chords within 5 um of them."""
GAPS = 0.05
"""Of a gap, by which it is changed for a slope."""
SLOPE = 0.1
"""Relative, to which a force is the slope of an energy that two grids tell."""


def one_design_in_other_words(made: Made) -> Iterator[str]:
    """Keys in another order, or all of them resolved, make the same files and the same digits."""
    told = {key: value for key, value in made.design.resolved().items() if key != "variant"}
    own = _quick(made.design)
    for words, other in (
        ("keys the other way round", _quick(read_tables(_reversed(made.design.written)))),
        ("resolved", _quick(Design.from_resolved(told))),
    ):
        for path in own.files:
            if other.files.get(path) != own.files[path]:
                yield f"{words}: {path} differs"
        for name in OF_COPPER:
            if own.value(name) != other.value(name):
                yield f"{words}: {name} {other.value(name)}, not {own.value(name)}"


def _quick(design: Design) -> Made:
    return remade(with_figures(check(design), figures(design, OF_COPPER)))


def _reversed(tables: Mapping[str, Any]) -> dict[str, Any]:
    """The same tables, each with its keys the other way round; lists keep their order."""
    return {key: _turned(value) for key, value in reversed(list(tables.items()))}


def _turned(value: Any) -> Any:
    if isinstance(value, Mapping):
        return _reversed(value)
    return [_turned(each) for each in value] if isinstance(value, list | tuple) else value


def copper_is_what_the_files_ink(made: Made) -> Iterator[str]:
    """Areas of copper by layer against the ink of the Gerber files."""
    told = figures(made.design, ["copper_areas"]).get("copper_areas")
    for row in () if told is None else told.value:
        sheet = made.board.copper[row["layer"]]
        if abs(sheet.ink.area - row["area"]) > INK * sheet.ink.area + ENDS:
            yield f"layer {row['layer']} has {row['area']} m2 of copper, {sheet.ink.area} m2 in its file"


def one_winding_s_figures_agree(made: Made) -> Iterator[str]:
    """Time constant, energy, moment, power and force by what they are made of."""
    if made.design.windings:
        return
    names = ("inductance", "time_constant", "resistance_20c", "moment", "turn_area", "current", "power")
    found = of_made(made, (*names, "force_on_magnet", "force_constant"))
    value = {name: figure.value for name, figure in found.items()}
    yield from _equal(value, "time_constant", lambda v: v["inductance"] / v["resistance_20c"])
    yield from _equal(value, "moment", lambda v: v["turn_area"] * v["current"])
    if made.design.drive.waveform == "dc":
        yield from _equal(value, "power", lambda v: v["current"] ** 2 * v["resistance_20c"])
    if not made.design.core:
        yield from _equal(value, "force_on_magnet", lambda v: v["force_constant"] * v["current"])


def _equal(value: Mapping[str, Any], name: str, by: Any, near: float = 1e-6) -> Iterator[str]:
    try:
        told, made_of = value[name], by(value)
    except KeyError:
        return
    if not math.isclose(told, made_of, rel_tol=near, abs_tol=1e-15):
        yield f"{name} {told}, by what it is made of {made_of}"


def layers_couple_as_their_inductances(made: Made) -> Iterator[str]:
    """Couplings are mutual over the root of both own inductances, less than one."""
    found = of_made(made, ["layer_inductances", "layer_coupling"])
    if len(found) < 2 or made.design.windings:
        return
    henry, coupling = (np.array(found[name].value) for name in ("layer_inductances", "layer_coupling"))
    root = np.sqrt(np.diag(henry))
    if not np.allclose(coupling, henry / np.outer(root, root), rtol=1e-6, atol=0):
        yield f"layer_coupling {coupling.tolist()} of {henry.tolist()} H"
    for i, j in combinations(range(len(henry)), 2):
        if abs(coupling[i, j]) >= 1:
            yield f"layers {i + 1} and {j + 1} couple by {coupling[i, j]}"


def no_current_warms_nothing(made: Made) -> Iterator[str]:
    """Next to no current leaves everything at the ambient temperature."""
    design = made.design
    if design.windings:
        return
    cold = changed(design, {"drive.voltage": None, "drive.current": SI(NEXT_TO_NOTHING)})
    for name, figure in () if cold is None else figures(cold, ["temperature", "body_temperatures"]).items():
        for where, told in numbers(figure.value):
            banded = where.endswith((".low", ".high"))  # by the ambient's own tolerance too
            if not banded and abs(told - design.drive.ambient) > 1e-6:
                yield f"{name}{where} {told} degC at {NEXT_TO_NOTHING} A in {design.drive.ambient} degC"


def thicker_copper_resists_less_and_stays_cooler(made: Made) -> Iterator[str]:
    """A tenth more copper; cooler under the same direct current, a voltage warms less resistance more."""
    design = made.design
    if design.windings:
        return
    steady = design.drive.current is not None and design.drive.waveform == "dc"
    copper = [1.1 * each for each in design.board.stackup.copper]
    told = {key: value for key, value in design.resolved().items() if key != "variant"}
    told["board"] = {**told["board"], "stackup": {**told["board"]["stackup"], "copper": copper}}
    names = ("resistance_20c", "temperature") if steady else ("resistance_20c",)
    own, more = of_made(made, names), figures(Design.from_resolved(told), names)
    for name in names:
        a, b = value_of(own, name), value_of(more, name)
        if a is not None and b is not None and b >= a and abs(b - design.drive.ambient) > 1e-3:
            yield f"{name} {a}, {b} of copper a tenth thicker"


def pull_is_the_slope_of_energy(made: Made) -> Iterator[str]:
    """Far from saturation a target is pulled by I^2/2 times what its gap takes of the inductance.

    The inductance in place is that of a small current on a grid of its own: both have errors of some percent.
    """
    design = made.design
    if design.target is None or design.magnet is not None or not design.target.gap or design.windings:
        return
    gap = design.target.gap
    near, far = (changed(design, {"target.gap": SI((1 + by) * gap)}) for by in (-GAPS, GAPS))
    if near is None or far is None:
        return
    name = "inductance_in_place"
    pulled = of_made(made, ["pull_on_target", "current"])
    low, high = (value_of(figures(each, [name]), name) for each in (near, far))
    force, current = (value_of(pulled, key) for key in ("pull_on_target", "current"))
    if None in (low, high, force, current):
        return
    slope = 0.5 * current**2 * (low - high) / (2 * GAPS * gap)
    rounding = 1e-4 * 0.5 * current**2 * low / (2 * GAPS * gap)
    if abs(slope - force) > SLOPE * abs(force) + rounding:
        yield f"pull_on_target {force} N, slope of the energy {slope} N"


def tables_are_monotonous(made: Made) -> Iterator[str]:
    """A board warms up steadily from the ambient; a pull of one straight material falls with its gap."""
    if made.design.windings:
        return
    found = of_made(made, ["temperature_against_time", "current_against_time", "pull_against_current"])
    for name, key in (("temperature_against_time", "temperature"), ("pull_against_current", "pull")):
        if name in found and (name != "temperature_against_time" or made.design.drive.pulse is None):
            values = [row[key] for row in found[name].value]
            if any(b < a - 1e-6 * max(map(abs, values)) for a, b in pairwise(values)):
                yield f"{name} falls: {values}"


LAWS = (
    one_design_in_other_words,
    copper_is_what_the_files_ink,
    one_winding_s_figures_agree,
    layers_couple_as_their_inductances,
    no_current_warms_nothing,
    thicker_copper_resists_less_and_stays_cooler,
    pull_is_the_slope_of_energy,
    tables_are_monotonous,
)
"""Every law of this file."""
