"""Searches a design and writes what it finds: the optimum as a design file, the runs as a table, a page."""

from __future__ import annotations

import time
from pathlib import Path
from typing import TYPE_CHECKING

from coilgen.cli.compiling import announce_compilation
from coilgen.cli.delivery import deliver_file, refuse_blocked_in
from coilgen.cli.findings import show_remarks
from coilgen.cli.terminal import show_table, show_text, step
from coilgen.design.as_made import calibration_told
from coilgen.study.optimize import optimize
from coilgen.study.search.found import Found
from coilgen.study.search.page import page
from coilgen.study.search.problem import Problem, Tried, problem
from coilgen.study.search.text import (
    NOTHING,
    at_an_end,
    chosen_text,
    front_lines,
    gain,
    goal_text,
    optimum_toml,
    outcome,
    range_text,
    runs_csv,
    shown_value,
    so_far,
    within_lines,
    worth_lines,
)
from coilgen.study.sweep_text import choice_text
from coilgen.units import per_cent

if TYPE_CHECKING:
    from coilgen.design.design import Design

FOUND, NONE_FOUND = 0, 1


def search(design: Design, out: Path, seconds: float | None) -> int:
    """Writes the files and says what was found; 1 where nothing keeps all limits."""
    asked = problem(design)
    ends = ("optimum.toml", "optimize.csv", "optimize.html")
    places = {end: out / f"{design.name}-{end}" for end in ends}
    refuse_blocked_in(out, [place.name for place in places.values()])
    announce_compilation(asked.design)
    found = _found(design, asked, seconds)
    chosen = found.best or found.nearest
    out.mkdir(parents=True, exist_ok=True)
    if found.stopped:
        show_text(f"stopped after {seconds:g} s, with the best of {len(found.runs)} runs")
    if found.best is None:
        show_text(outcome(found))
    if chosen is not None:
        _tell(found, chosen)
        deliver_file(optimum_toml(found, chosen), places["optimum.toml"])
    deliver_file(runs_csv(found), places["optimize.csv"])
    deliver_file(page(found), places["optimize.html"])
    written = [str(place) for end, place in places.items() if chosen is not None or end != "optimum.toml"]
    show_text(f"wrote {', '.join(written)}")
    taken = design.drive_taken(axis.key for axis in asked.search.axes)
    show_remarks((*taken, *calibration_told(design)))
    return FOUND if found.best is not None else NONE_FOUND


def _found(design: Design, asked: Problem, seconds: float | None) -> Found:
    began = time.monotonic()
    with step("searching") as far:

        def progress(runs: int, best: Tried | None) -> None:
            far(f"{so_far(asked, runs, best)}, {time.monotonic() - began:.0f} s")

        return optimize(design, seconds=seconds, progress=progress)


def _tell(found: Found, chosen: Tried) -> None:
    asked, start = found.problem, found.start
    rows = [
        (axis.key, choice_text(old), choice_text(new), range_text(axis))
        for axis, old, new in zip(asked.axes, start.point, chosen.point, strict=True)
    ]
    for k, (goal, of) in enumerate(asked.goals):
        rows.append(
            (
                of.name,
                shown_value(start.goals, k, of.unit),
                shown_value(chosen.goals, k, of.unit),
                goal_text(goal),
            )
        )
    for k, bound in enumerate(asked.bounds):
        unit = bound.of.unit
        cells = shown_value(start.judged, k, unit), shown_value(chosen.judged, k, unit)
        rows.append((bound.of.name, *cells, bound.says))
    show_table(("", "start", chosen_text(found), "wanted"), rows)
    for line in (*front_lines(found), *at_an_end(found), *worth_lines(found), *within_lines(found)):
        show_text(line)
    better = gain(asked, start, chosen) if found.best is not None else None
    if better is not None:
        kept = "" if asked.kept(start) else ", which does not keep the limits"
        by = f"{per_cent(abs(better), 1)} {'better' if better > 0 else 'worse'} than"
        show_text(f"{by if abs(better) > NOTHING else 'as good as'} the start{kept}")
