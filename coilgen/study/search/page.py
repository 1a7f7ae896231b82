"""The page of a search: how it went, what it found beside the start, which limits bind, all as a picture."""

from __future__ import annotations

from base64 import b64encode
from typing import TYPE_CHECKING

from coilgen import __version__
from coilgen.design.as_made import calibration_told
from coilgen.exports.page._chart import Chart, Curve, chart_svg
from coilgen.exports.page._scale import Axis
from coilgen.exports.page._table import add_rows, add_table
from coilgen.exports.page.page import document
from coilgen.exports.picture import drawing
from coilgen.exports.picture._svg import Element, add
from coilgen.job import check
from coilgen.study.search.text import (
    at_an_end,
    chosen_text,
    front_lines,
    front_toml,
    goal_text,
    named,
    outcome,
    range_text,
    shown_value,
    within_lines,
    worth_lines,
)
from coilgen.study.search.worth import BINDS
from coilgen.study.sweep_text import choice_text

if TYPE_CHECKING:
    from coilgen.study.search.found import Found
    from coilgen.study.search.problem import Tried

_STYLE = """
.boards { display: flex; flex-wrap: wrap; gap: 1.5em; }
.boards figure { margin: 1em 0; flex: 1 1 28em; }
.front td { white-space: nowrap; }
.boards img { width: 100%; }
"""


def page(found: Found) -> bytes:
    """One self-contained HTML file."""
    asked = found.problem
    main = Element("main", {"id": "coil"})
    header = add(main, "header")
    add(header, "h1", f"{asked.design.name}: {' and '.join(goal_text(goal) for goal, _ in asked.goals)}")
    for line in (_outcome(found), *calibration_told(asked.design)):
        add(header, "p", line)
    chosen = found.best or found.nearest
    if chosen is not None:
        _add_designs(main, found, chosen)
        _add_limits(main, found, chosen)
    if found.front:
        _add_front(main, found)
    _add_history(main, found)
    add(main, "footer", f"coilgen {__version__}")
    return document(asked.design.name, [main], extra_style=_STYLE)


def _outcome(found: Found) -> str:
    runs = f"{len(found.runs)} designs were computed exactly"
    stopped = "; the search was stopped early" if found.stopped else ""
    told = outcome(found)
    return f"{told[0].upper()}{told[1:]}. {runs}{stopped}."


def _add_designs(main: Element, found: Found, chosen: Tried) -> None:
    asked = found.problem
    section = add(main, "section")
    add(section, "h2", "Start and optimum" if found.best else "Start and nearest design")
    rows: list[tuple[str, ...]] = []
    for axis, old, new in zip(asked.axes, found.start.point, chosen.point, strict=True):
        rows.append((axis.key, choice_text(old), choice_text(new), range_text(axis)))
    for k, (goal, of) in enumerate(asked.goals):
        cells = [shown_value(run.goals, k, of.unit) for run in (found.start, chosen)]
        rows.append((of.name, *cells, goal_text(goal)))
    add_rows(add_table(section, ("", "start", chosen_text(found), "range"), "designs"), rows)
    _add_boards(section, found, chosen)


def _add_limits(main: Element, found: Found, chosen: Tried) -> None:
    section = add(main, "section")
    add(section, "h2", "Limits")
    body = add_table(section, ("limit", "start", chosen_text(found), ""), "limits")
    for k, bound in enumerate(found.problem.bounds):
        value = chosen.judged[k]
        excess = None if value is None else bound.excess(value)
        verdict = "" if excess is None else "broken" if excess > 0 else "binds" if excess > -BINDS else "free"
        cells = [shown_value(run.judged, k, bound.of.unit) for run in (found.start, chosen)]
        add_rows(body, [(bound.says, *cells, verdict)])
    for line in (*at_an_end(found), *worth_lines(found), *within_lines(found)):
        add(section, "p", line)


def _add_front(main: Element, found: Found) -> None:
    """The best of both goals as a curve, and each point with its design."""
    asked = found.problem
    (goal, of), (other, of_other) = asked.goals
    section = add(main, "section")
    add(section, "h2", f"{of.name} against {of_other.name}")
    for line in front_lines(found):
        add(section, "p", line)
    points = [(run.goals[1] or 0.0, run.goals[0] or 0.0) for run in found.front]
    chart = Chart(
        title="front",
        says=f"{of.name} against {of_other.name} of designs that none betters in both",
        across=Axis(says=of_other.name, unit=of_other.unit),
        up=Axis(says=of.name, unit=of.unit),
        curves=(Curve(says=f"{goal_text(goal)}, {goal_text(other)}", points=tuple(sorted(points))),),
    )
    if len(points) > 1:
        section.append(chart_svg(chart))
    heads = ("number", of.name, of_other.name, *(axis.key for axis in asked.axes), "design file")
    body = add_table(section, heads, "front", kind="front")
    for number, run in enumerate(found.front, start=1):
        shown = [shown_value(run.goals, 0, of.unit), shown_value(run.goals, 1, of_other.unit)]
        add_rows(body, [(str(number), *shown, *(choice_text(choice) for choice in run.point))])
        _add_file(body[-1], front_toml(found, number), named(asked.design.name, f"front-{number}"))


def _add_file(line: Element, content: bytes, name: str) -> None:
    """A cell with a link that saves a file, which the page holds."""
    link = add(add(line, "td"), "a", "save", download=f"{name}.toml")
    link.set("href", f"data:application/toml;base64,{b64encode(content).decode()}")


def _add_boards(section: Element, found: Found, chosen: Tried) -> None:
    """Pictures of both boards; a start that cannot be drawn has none."""
    frame = add(section, "div", class_="boards")
    for run, says in ((found.start, "start"), (chosen, chosen_text(found))):
        if run.fault is None:
            design = found.problem.built(run.point)
            (drawn,) = drawing.files(check(design)).values()
            figure = add(frame, "figure")
            image = add(figure, "img", alt=f"board of the {says}")
            image.set("src", f"data:image/svg+xml;base64,{b64encode(drawn).decode()}")
            add(figure, "figcaption", says)


def _add_history(main: Element, found: Found) -> None:
    """The best so far after each run."""
    asked = found.problem
    best: Tried | None = None
    points: list[tuple[float, float]] = []
    for count, run in enumerate(found.runs, start=1):
        if asked.kept(run) and (best is None or asked.cost(run) < asked.cost(best)):
            best = run
        if best is not None and best.goals[0] is not None:
            points.append((float(count), best.goals[0]))
    if len(points) < 2:
        return
    goal, of = asked.goals[0]
    section = add(main, "section")
    add(section, "h2", "How it went")
    chart = Chart(
        title="best so far",
        says=f"{of.name} of the best design so far against the number of exact runs",
        across=Axis(says="exact runs", unit="1"),
        up=Axis(says=of.name, unit=of.unit),
        curves=(Curve(says=goal_text(goal), points=tuple(points)),),
    )
    section.append(chart_svg(chart))
