"""What a search has found as files: the optimum as a design file, all runs as CSV."""

from __future__ import annotations

from typing import TYPE_CHECKING

import tomlkit

from coilgen.design.changes import within
from coilgen.design.optimizing import Goal, Span
from coilgen.design.sweeping import Axis
from coilgen.result.csv_table import csv_table
from coilgen.study.search.problem import Problem, Tried
from coilgen.study.sweep_block import OK, told
from coilgen.study.sweep_text import choice_text
from coilgen.units import per_cent, readable

if TYPE_CHECKING:
    from coilgen.design.sweeping import Choice
    from coilgen.study.search.found import Found
    from coilgen.study.search.tolerances import Within

NOTHING = 5e-4
"""A gain that is told as none."""
_RANGE, _NEAR = 3, 1e-4
"""Numbers from which on choices are a range, and how near to its end a value is there, as a share of it."""


def named(name: str, end: str) -> str:
    """The name of an optimum, or of a point of a front, no longer than names may be.

    >>> named("push", "optimum")
    'push-optimum'
    """
    return f"{name[: 64 - len(end) - 1]}-{end}"


def optimum_toml(found: Found, run: Tried) -> bytes:
    """The design of the best run, or of the nearest, as a complete design file."""
    count = len(found.runs)
    designs = f"{count} design{'s'[: count > 1]} varied from {found.problem.design.name}, by exact figures"
    head = [f"The best of {designs}."]
    if found.best is None:
        head = [
            f"No optimum: the nearest of {designs}. Nothing satisfies the limits;",
            f"most in the way: {found.in_the_way}.",
        ]
    if found.stopped:
        head.append("The search was stopped early: a longer one may find a better design.")
    more = [*at_an_end(found), *worth_lines(found), *within_lines(found)]
    return _design_toml(found, run, "optimum", [*head, *reached(found, run), *more])


def front_toml(found: Found, number: int) -> bytes:
    """The design of a point of the front, from 1 on, as a complete design file."""
    run = found.front[number - 1]
    head = f"Point {number} of {len(found.front)} of a front, varied from {found.problem.design.name}."
    return _design_toml(found, run, f"front-{number}", [head, *reached(found, run)])


def _design_toml(found: Found, run: Tried, end: str, head: list[str]) -> bytes:
    """A run's design with a head, and what each key could have been, in comments."""
    asked = found.problem
    design = asked.design.changed({**asked.changes(run.point), "name": named(asked.design.name, end)})
    document = tomlkit.document()
    pairs = zip(asked.axes, run.point, strict=True)
    whole = {axis.key: int(v) for axis, v in pairs if isinstance(v, float) and v.is_integer()}
    design = design.changed(whole)
    for line in head:
        document.add(tomlkit.comment(line))
    document.add(tomlkit.nl())
    for key, value in design.written.items():
        document.add(key, tomlkit.item(value))
    for axis in asked.axes:
        _comment(document, axis)
    return tomlkit.dumps(document).encode()


def reached(found: Found, run: Tried) -> list[str]:
    """What was sought and what the run reaches, a line each."""
    asked = found.problem
    lines = []
    for (goal, of), value in zip(asked.goals, run.goals, strict=True):
        if value is not None:
            lines.append(f"{goal.sense} {of.name}: {readable(value, of.unit, 4)}")
    for bound, value in zip(asked.bounds, run.judged, strict=True):
        if value is not None:
            lines.append(f"limit: {bound.says}; here {readable(value, bound.of.unit, 4)}")
    return lines


def _comment(document: tomlkit.TOMLDocument, axis: Axis | Span) -> None:
    """Tells beside a key what it could have been."""
    inside: object = document
    *steps, last = axis.key.split(".")
    for step in steps:
        inside = within(inside, step)
    item = within(inside, last)
    if item is not None and hasattr(item, "comment") and not hasattr(item, "keys"):
        item.comment(f"varied: {range_text(axis)}")


def range_text(axis: Axis | Span) -> str:
    """What a key may be.

    >>> range_text(Span(key="winding.trace_width", low=0.15, high=0.6, unit="mm"))
    '0.15 to 0.6 mm'
    """
    if isinstance(axis, Span):
        return f"{axis.low:g} to {axis.high:g} {axis.unit}".rstrip()
    if axis.numeric and len(axis.choices) > 4:
        ends = f"{choice_text(axis.choices[0])} to {choice_text(axis.choices[-1])} {axis.unit}".rstrip()
        return f"{ends}, {len(axis.choices)} values"
    return " | ".join(choice_text(choice) for choice in axis.choices)


def runs_csv(found: Found) -> bytes:
    """A row for each exact run: keys in their own units, figures in their JSON units, blank without."""
    asked = found.problem
    columns = [f"{bound.of.name}{' sure' if bound.sure else ''}" for bound in asked.bounds]
    goals = [goal.figure for goal, _ in asked.goals]
    keys = [axis.key for axis in asked.axes]
    rows = [["run", *keys, "status", "keeps_limits", *goals, *columns, "rules_broken"]]
    for count, run in enumerate(found.runs, start=1):
        values = (*run.goals, *run.judged) if run.fault is None else [None] * (len(goals) + len(columns))
        rows.append(
            [
                str(count),
                *(choice_text(choice) for choice in run.point),
                OK if run.fault is None else told(run.fault),
                "true" if asked.kept(run) else "false",
                *("" if value is None else repr(value) for value in values),
                str(run.rules_broken) if run.fault is None else "",
            ]
        )
    return csv_table(rows).encode()


def at_an_end(found: Found) -> list[str]:
    """Ranges of which the best design takes an end: a wider one may hold a better design."""
    if found.best is None:
        return []
    pairs = zip(found.problem.axes, found.best.point, strict=True)
    keys = [axis.key for axis, value in pairs if _is_end(axis, value)]
    return [f"at the end of what they may be: {', '.join(keys)}"] if keys else []


def _is_end(axis: Axis | Span, value: Choice) -> bool:
    if isinstance(axis, Axis) and (not axis.numeric or len(axis.choices) < _RANGE):
        return False
    told = (axis.low, axis.high) if isinstance(axis, Span) else axis.choices
    numbers = [float(each) for each in told]  # type: ignore[arg-type]  # numbers, as its axis
    low, high = min(numbers), max(numbers)
    near = _NEAR * (high - low)
    return not low + near < float(value) < high - near  # type: ignore[arg-type]  # a number, as its axis


def front_lines(found: Found) -> list[str]:
    """What a front holds, and which of its points the optimum is."""
    if not found.front:
        return []
    first = goal_text(found.problem.goals[0][0])
    points = "1 design" if len(found.front) == 1 else f"{len(found.front)} designs"
    return [f"a front of {points}, each on the page with its file; the optimum is that of {first}"]


def worth_lines(found: Found) -> list[str]:
    """What a step of each binding limit, or a finer shop, is worth, a sentence each."""
    name = found.problem.goals[0][1].name
    return [f"{each.says}: {name} {_better(each.gain)}" for each in found.worth]


def _better(gain: float) -> str:
    return "no better" if gain < NOTHING else f"{per_cent(gain, 1)} better"


def within_lines(found: Found) -> list[str]:
    """What tolerances may make of goals and limits, a sentence each."""
    return [line for each in found.within for line in _within(each)]


def _within(each: Within) -> list[str]:
    low, high, far = (readable(value, each.of.unit, 3) for value in (each.low, each.high, each.far))
    if each.loss is not None:
        return [
            f"{each.of.name} within tolerances: {low} to {high}, {per_cent(each.loss, 1)} worse at "
            "the far end"
        ]
    if not each.known:
        return [f"{each.of.name} has no band: sure = true holds its value alone"]
    if not each.breaks:
        return []
    beyond = f"{far} at the far end, beyond its limit; sure = true keeps it within"
    return [f"{each.of.name} within tolerances: {beyond}"]


def outcome(found: Found) -> str:
    """What came of a search, in a sentence."""
    if found.best is None:
        return f"nothing satisfies the limits; most in the way: {found.in_the_way}"
    return "the optimum keeps all limits by its exact figures"


def chosen_text(found: Found) -> str:
    """What the design is called that stands beside the start."""
    return "optimum" if found.best is not None else "nearest"


def shown_value(values: tuple[float | None, ...], place: int, unit: str) -> str:
    """One of a run's values with its unit; a dash where it has none."""
    value = values[place] if place < len(values) else None
    return "–" if value is None else readable(value, unit, 4)


def so_far(asked: Problem, runs: int, best: Tried | None) -> str:
    """How far a search is."""
    of = asked.goals[0][1]
    told = "none keeps the limits yet"
    if best is not None:
        told = f"best so far {of.name} {shown_value(best.goals, 0, of.unit)}"
    return f"{runs} runs, {told}"


def found_lines(found: Found) -> list[str]:
    """What was found, beside the start, a sentence each."""
    asked, start, chosen = found.problem, found.start, found.best or found.nearest
    says = outcome(found)
    lines = [f"{says[0].upper()}{says[1:]}."]
    if chosen is not None:
        name = chosen_text(found)
        lines += [
            f"{axis.key}: {choice_text(new)} (start {choice_text(old)})"
            for axis, old, new in zip(asked.axes, start.point, chosen.point, strict=True)
        ]
        for k, (_, of) in enumerate(asked.goals):
            new, old = (shown_value(run.goals, k, of.unit) for run in (chosen, start))
            lines.append(f"{of.name} of the {name}: {new} (start {old})")
    return [*lines, *front_lines(found), *at_an_end(found), *worth_lines(found), *within_lines(found)]


def goal_text(goal: Goal) -> str:
    """A goal in words."""
    return f"{goal.sense} {goal.figure}"


def gain(asked: Problem, start: Tried, best: Tried) -> float | None:
    """By which share the first goal is better than at the start; None where that cannot be said."""
    if not start.sound or not start.goals[0] or not best.goals[0]:
        return None
    return (asked.cost(start) - asked.cost(best)) / abs(asked.cost(start))
