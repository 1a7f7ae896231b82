"""Laws that hold a design against others made from it: scaled, mirrored, turned, a little changed.

A law yields a sentence for everything that breaks it. Designs that a change makes unsound are passed over:
refusals have laws of their own.
"""

from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from itertools import chain
from typing import Any, get_args

from figure_laws import numbers
from made import Made

from coilgen.design.design import Design
from coilgen.design.keys import SI, Quantity, Table
from coilgen.design.validation_messages import model_of
from coilgen.errors import DesignError, UnsolvedError
from coilgen.job import case_of, draw
from coilgen.result.figure import Case, Figure

Figures = Mapping[str, Figure]

POWERS = {
    **dict.fromkeys(("turns_total", "layer_coupling", "flux_density", "core_peak_flux_density"), 0),
    **dict.fromkeys(("trace_length", "smallest_width", "smallest_spacing", "current", "ampere_turns"), 1),
    **dict.fromkeys(("inductance", "layer_inductances", "core_inductance", "core_inductance_at_rest"), 1),
    **dict.fromkeys(("winding_capacitance", "power", "force_constant"), 1),
    **dict.fromkeys(("resistance_20c", "current_density", "self_resonance"), -1),
    **dict.fromkeys(("turn_area", "time_constant", "force_on_magnet", "force_at_rest", "pull_on_target"), 2),
    **dict.fromkeys(("copper_mass", "moment", "stored_energy", "torque_on_magnet"), 3),
}
"""By which power of the scale figures grow when lengths and current grow with it, time with its square.

Then flux densities stay, in iron too, and skin depths grow as everything else. Temperatures do not
follow, nor what hot copper resists.
"""
TWICE = {"length": 2.0, "copper thickness": 2.0, "current": 2.0, "frequency": 0.25, "time": 4.0}
"""What a scale of two makes of each dimension."""
MAGNETIC = ("inductance", "resistance_20c", "turn_area", "force_on_magnet", "pull_on_target")
HEATED = ("temperature", "hot_resistance")
CONTINUOUS = (
    *POWERS,
    *HEATED,
    "drive_impedance",
    "impedance_at_drive",
    "effective_turns",
    "body_temperatures",
    "hot_current",
)
CLOSE = 1e-6
"""Relative, to which figures of one size agree with those of another: rounding alone."""
SOLVED = 5e-3
"""Relative, to which figures agree that a solver's mesh or chords of a stated tolerance carry."""
STEPPED = {"winding_capacitance": 2e-3, "self_resonance": 2e-3}
"""Figures whose solver puts turns on a grid of a part of the pitch: by which share they may jump."""
ROUGH = {"core_peak_flux_density": 0.1, "winding_capacitance": 2e-5, "self_resonance": 2e-5}
"""Relative, to which figures of one size agree with those of another where a solver has a length of its own.

One cell of a core stands for the least of its highest 1 %, and in very permeable iron single cells feel, by
some hundredths, which chords of a stated length stand for arcs (all else of a core hardly does); distances of
turns are told apart to a nanometre.
"""
FLOORS = {"F": 0.0, "H": 0.0, "N/A": 1e-8}
"""Below which a figure is nothing: such a force constant is what is left of forces that cancel."""
EXACT = frozenset(POWERS) - {
    "flux_density",
    "force_on_magnet",
    "force_constant",
    "torque_on_magnet",
    "pull_on_target",
    "force_at_rest",
    "core_inductance",
    "core_inductance_at_rest",
    "core_peak_flux_density",
    "stored_energy",
    "power",
    "current",
    "ampere_turns",
    "current_density",
    "moment",
}


def figures(design: Design, names: Iterable[str]) -> Figures:
    """Those of the named figures that apply to a design, and that a solver has an answer to."""
    return dict(_told(case_of(design, *draw(design)), names))


def of_made(made: Made, names: Iterable[str]) -> Figures:
    """The same of a made design, from what it tells already where it does."""
    names = tuple(names)
    known = {name: made.result.figures[name] for name in names if name in made.result.figures}
    return {**dict(_told(made.case, [name for name in names if name not in known])), **known}


def _told(case: Case, names: Iterable[str]) -> Iterator[tuple[str, Figure]]:
    for name in names:
        with suppress(UnsolvedError):
            if (figure := case.figure(name)) is not None:
                yield name, figure


def scales(made: Made) -> Iterator[str]:
    """A board twice as large, under twice the current, keeps its flux densities; all else follows."""
    if made.design.windings or _stepped(made.design) or (twice := _scaled(made.design)) is None:
        return
    own, others = of_made(made, POWERS), figures(twice, POWERS)
    if set(own) != set(others):
        yield f"figures {sorted(set(own) ^ set(others))} of one size alone"
    for name in set(own) & set(others):
        yield from _differ(name, own[name], others[name], 2.0 ** POWERS[name], ROUGH.get(name, 0.0))


def mirrors(made: Made) -> Iterator[str]:
    """Wound the other way, in the mirror with all that stands beside it, a board tells the same."""
    if made.design.windings:
        return
    names = (*MAGNETIC, *HEATED)
    try:
        image = Design.from_resolved(_mirrored(Design, _resolved(made.design)))
    except DesignError as error:
        yield f"its mirror image is refused: {error}"
        return
    own, others = of_made(made, names), figures(image, names)
    for name in own:
        factor = -1.0 if name == "turn_area" else 1.0
        near = CLOSE if name in EXACT else SOLVED
        yield from _differ(name, own[name], others.get(name), factor, near)


def poles_turn_the_force(made: Made) -> Iterator[str]:
    """Without iron a magnet turned over is pushed the other way, as hard."""
    magnet = made.design.magnet
    if magnet is None or made.design.core or made.design.windings:
        return
    other = {"up": "down", "north": "south", "east": "west"}
    other |= {after: before for before, after in other.items()}
    names = ("force_on_magnet", "force_constant", "torque_on_magnet", "inductance")
    own, turned = (
        of_made(made, names),
        figures(made.design.changed({"magnet.pole": other[magnet.pole]}), names),
    )
    for name in own:
        yield from _differ(name, own[name], turned.get(name), 1.0 if name == "inductance" else -1.0)


def force_follows_the_current(made: Made) -> Iterator[str]:
    """Without iron the force on a magnet is proportional to the current."""
    design = made.design
    if design.magnet is None or design.core or design.windings or design.drive.current is None:
        return
    twice = changed(design, {"drive.current": SI(2 * design.drive.current)})
    if twice is not None:
        name = "force_on_magnet"
        yield from _differ(name, of_made(made, [name])[name], figures(twice, [name])[name], 2.0)


def more_current_is_warmer(made: Made) -> Iterator[str]:
    """No temperature falls as the drive grows by a tenth."""
    drive, design = made.design.drive, made.design
    key = "current" if drive.current is not None else "voltage"
    more = changed(design, {f"drive.{key}": SI(1.1 * getattr(drive, key))})
    if design.windings or more is None:
        return
    own, others = (value_of(each, "temperature") for each in (of_made(made, HEATED), figures(more, HEATED)))
    if own is not None and others is not None and others < own - 1e-6:
        yield f"temperature falls from {own} to {others} degC as the {key} grows by a tenth"


def wider_traces_resist_less(made: Made) -> Iterator[str]:
    """Resistance falls as the trace grows by a hundredth, its pitch held."""
    winding = made.design.winding
    if made.design.windings or not _written(made.design, "trace_width", "trace_spacing", "outer_size"):
        return
    more = 0.01 * min(winding.trace_width, winding.trace_spacing)
    changes = {"trace_width": winding.trace_width + more, "trace_spacing": winding.trace_spacing - more}
    wider = changed(made.design, {f"winding.{key}": SI(value) for key, value in changes.items()})
    if wider is None:
        return
    name = "resistance_20c"
    own, other = of_made(made, [name])[name].value, figures(wider, [name])[name].value
    if other >= own:
        yield f"{name} {own} ohm, {other} of wider traces"


def figures_are_continuous(made: Made) -> Iterator[str]:
    """A millionth more of one key changes no figure by a thousandth, those of a grid by little more."""
    design = made.design
    if design.windings:
        return
    for key, value in _continuous_keys(design):
        near = changed(design, {key: value})
        if near is None:
            yield f"a millionth more of {key} is refused"
            continue
        own, others = of_made(made, CONTINUOUS), figures(near, CONTINUOUS)
        for name in set(own) | set(others):
            for says in _differ(name, own.get(name), others.get(name), 1.0, STEPPED.get(name, 1e-3)):
                yield f"a millionth more of {key}: {says}"


def _continuous_keys(design: Design) -> Iterator[tuple[str, object]]:
    """Keys on which figures hang without steps, each with a millionth more."""
    drive, winding = design.drive, design.winding
    key = "current" if drive.current is not None else "voltage"
    yield f"drive.{key}", SI((1 + 1e-6) * getattr(drive, key))
    yield "drive.ambient", SI(drive.ambient + 1e-6 * (drive.ambient + 273.15))
    if _written(design, "turns", "trace_width") and isinstance(winding.trace_width, float):
        yield "winding.trace_width", SI((1 + 1e-6) * winding.trace_width)
    if _written(design, "turns", "outer_size") and isinstance(winding.outer_size, float):
        yield "winding.outer_size", SI((1 + 1e-6) * winding.outer_size)
    bodies = {f"core.{k}": core for k, core in enumerate(design.core, 1)}
    for name, body in {**bodies, "magnet": design.magnet, "target": design.target}.items():
        if body is not None and body.gap:
            yield f"{name}.gap", SI((1 + 1e-6) * body.gap)


def _written(design: Design, *keys: str) -> bool:
    """Whether a winding's numbers are given by the file, not derived."""
    winding = design.written["winding"]
    return isinstance(winding, Mapping) and all(key in winding for key in keys)


def changed(design: Design, changes: Mapping[str, object]) -> Design | None:
    """With other values of some keys; None where that makes no sound design."""
    try:
        other = design.changed(changes)
        draw(other)
    except DesignError:
        return None
    return other


def _scaled(design: Design) -> Design | None:
    """Twice as large; None where that is beyond what keys allow."""
    try:
        twice = Design.from_resolved(_times(TWICE, Design, _resolved(design)))
        draw(twice)
    except DesignError as error:
        if all("outside what is allowed" in fault.says for fault in error.faults):
            return None
        raise
    return twice


def _stepped(design: Design) -> bool:
    """Whether leads begin by an edge that moves in steps of half a millimetre, whatever the board's size."""
    return design.tail is not None and design.board.size is None


def _resolved(design: Design) -> dict[str, Any]:
    return {key: value for key, value in design.resolved().items() if key != "variant"}


def _times(factors: Mapping[str, float], model: type[Table], tables: Mapping[str, Any]) -> dict[str, Any]:
    """Resolved tables with every quantity times its dimension's factor."""
    found = {}
    for key, value in tables.items():
        inner, factor = model_of(model, key), factors.get(_dimension(model, key), 1.0)
        if inner is not None and isinstance(value, dict):
            found[key] = _times(factors, inner, value)
        elif inner is not None and isinstance(value, list):
            found[key] = [_times(factors, inner, entry) for entry in value]
        elif factor != 1.0 and value is not None and not isinstance(value, str):
            found[key] = [factor * entry for entry in value] if isinstance(value, list) else factor * value
        else:
            found[key] = value
    return found


def _dimension(model: type[Table], key: str) -> str:
    """Of the quantities that a key holds, or nothing."""
    field = model.model_fields[key]
    told = chain(field.metadata, *(getattr(part, "__metadata__", ()) for part in get_args(field.annotation)))
    kinds = (getattr(each, "of", each) for each in told)
    return next((kind.dimension for kind in kinds if isinstance(kind, Quantity)), "")


_LEFT = {"east": "west", "west": "east"}
_OVER = {"clockwise": "counterclockwise", "counterclockwise": "clockwise"}
_POLES = {"up": "down", "down": "up", "north": "south", "south": "north"}
"""A magnetisation along the mirror turns round, one across it stays."""
_WORDS = {"direction": _OVER, "side": _LEFT, "pole": _POLES}


def _mirrored(model: type[Table], tables: Mapping[str, Any]) -> dict[str, Any]:
    """Resolved tables of the image in a mirror across x."""
    return {key: _mirrored_value(key, value, tables) for key, value in tables.items()}


def _mirrored_value(key: str, value: Any, table: Mapping[str, Any]) -> Any:
    if isinstance(value, dict):
        return {name: _mirrored_value(name, own, value) for name, own in value.items()}
    if isinstance(value, list) and value and isinstance(value[0], dict):
        return [_mirrored_value(key, own, table) for own in value]
    if isinstance(value, str):
        return _WORDS.get(key, {}).get(value, value)
    if key in ("offset", "at", "centre") and isinstance(value, list):
        return [-value[0], *value[1:]]
    if key == "offset" and value is not None:
        # Of a tail: along x where it leaves to the north or south.
        return -value if table.get("side") in ("north", "south") else value
    if key == "beneath" and isinstance(value, list):
        return [-value[2], value[1], -value[0], value[3]]
    return value


def value_of(found: Figures, name: str) -> Any:
    return found[name].value if name in found else None


def _differ(
    name: str, own: Figure | None, other: Figure | None, factor: float, share: float = 0.0
) -> Iterator[str]:
    """Where another design's figure is not the factor times the own one; share: of its largest number."""
    if own is None or other is None:
        yield f"{name} is told of one alone"
        return
    mine, theirs = dict(numbers(own.value)), dict(numbers(other.value))
    if set(mine) != set(theirs):
        yield f"{name} has other rows"
        return
    near = share or (CLOSE if name in EXACT else SOLVED)
    floor = FLOORS.get(own.unit, 0.02 if "degC" in own.unit else 1e-15)
    size = max((abs(value) for value in mine.values()), default=0.0)
    for where in mine:
        if where.endswith((".height", ".per_ampere")):
            continue
        gap = abs(theirs[where] - factor * mine[where])
        if gap > near * abs(factor) * size + floor:
            yield f"{name}{where}: {theirs[where]:.7g}, not {factor:g} times {mine[where]:.7g}"
            return


LAWS = (
    scales,
    mirrors,
    poles_turn_the_force,
    force_follows_the_current,
    more_current_is_warmer,
    wider_traces_resist_less,
    figures_are_continuous,
)
"""Every law of a design against others made from it."""
