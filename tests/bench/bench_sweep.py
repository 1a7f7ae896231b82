"""Processor time of a sweep's row, exact and screened, over that of a design by itself, in one run.

Of rules, resistance, inductance, current, temperature and force of a coil that pushes a magnet. A design by
itself is drawn, checked and figured with its bands.

Run: OPENBLAS_NUM_THREADS=1 python tests/bench/bench_sweep.py [CHECKOUT]

CHECKOUT: folder of an older version, whose design by itself is measured in the same run and told beside.
"""

import os
import subprocess
import sys
import time
from pathlib import Path
from typing import NamedTuple

from coilgen import job
from coilgen.catalogue import templates
from coilgen.design.reading import read_text

FIGURES = ("rules_broken", "resistance_20c", "inductance", "current", "temperature", "force_on_magnet")
COPPER = {"winding.turns": [11, 12, 13, 14, 15, 16], "winding.trace_width": [0.13, 0.15]}
SCREENED = {
    "winding.turns": {"from": 9, "to": 18, "step": 1},
    "winding.trace_width": {"from": 0.12, "to": 0.192, "step": 0.008},
    "winding.trace_spacing": {"from": 0.1, "to": 0.172, "step": 0.008},
    "winding.outer_size": {"from": 11.6, "to": 14.3, "step": 0.3},
}
BESIDE_CORES = {
    "winding.turns": {"from": 10, "to": 19, "step": 1},
    "winding.trace_width": {"from": 0.15, "to": 0.195, "step": 0.005},
    "winding.trace_spacing": {"from": 0.15, "to": 0.195, "step": 0.005},
}
OF_BODIES = ("resistance_20c", "inductance_in_place", "current", "temperature", "pull_on_target")
DRIVEN = {**COPPER, "drive.voltage": [0.4, 0.5, 0.6, 0.7, 0.8]}


def alone(design, figures=FIGURES[1:]) -> None:
    coil, art = job.draw(design)
    job.findings_of(design, coil, art)
    case = job.case_of(design, coil, art)
    for name in figures:
        case.figure(name)


def of_version(folder: str) -> float:
    """A design by itself as a version in another folder computes it, s."""
    code = f"import bench_sweep as b; print(b.alone_on_average(b.coreless(), {FIGURES[1:]!r}))"
    paths = {"PYTHONPATH": os.pathsep.join([folder, str(Path(__file__).parent)])}
    told = subprocess.run(
        [sys.executable, "-c", code], env={**os.environ, **paths}, capture_output=True, text=True, check=True
    )
    return float(told.stdout)


def coreless() -> list:
    """Designs of one copper each; needs only what older versions have too."""
    design = read_text(templates()["optical-shutter"])
    base = design.changed({"sweep": None}) if getattr(design, "sweep", None) else design
    return [
        base.changed({"winding.turns": turns, "winding.trace_width": width})
        for turns in COPPER["winding.turns"]
        for width in COPPER["winding.trace_width"]
    ]


def alone_on_average(designs, figures) -> float:
    alone(designs[0], figures)
    return timed(lambda: [alone(one, figures) for one in designs]) / len(designs)


def timed(work) -> float:
    began = time.process_time()
    work()
    return time.process_time() - began


class Clocks(NamedTuple):
    """s: on the wall, of this process, of those that it started."""

    wall: float
    own: float
    others: float


def clocks(work) -> Clocks:
    began, before = time.perf_counter(), os.times()
    work()
    after = os.times()
    return Clocks(
        time.perf_counter() - began,
        after.user + after.system - before.user - before.system,
        after.children_user + after.children_system - before.children_user - before.children_system,
    )


def swept(asked, workers: int = 1) -> None:
    from coilgen.study.sweep_rows import rows

    for _ in rows(asked, range(asked.count), workers=workers):
        pass


def main() -> None:
    from coilgen.study.plan import plan

    design = read_text(templates()["optical-shutter"])
    each = alone_on_average(coreless(), FIGURES[1:])
    print(f"a design by itself: {1e3 * each:.0f} ms = 1")
    for folder in sys.argv[1:]:
        print(f"the same in {folder}: {of_version(folder) / each:.2f}")
    for says, vary in (("turns and width", COPPER), ("turns, width and five voltages", DRIVEN)):
        asked = plan(design, vary, FIGURES)
        row = timed(lambda asked=asked: swept(asked)) / asked.count
        print(f"a row of a sweep of {says}: {row / each:.2f}")
    asked = plan(design, SCREENED, FIGURES, screened=True)
    spent = timed(lambda: swept(asked))
    print(f"{asked.count} screened rows, no two of one copper: as {spent / each:.0f} designs by themselves")
    latch = read_text(templates()["specimen-drawer-latch"]).changed({"variant": None, "optimize": None})
    alone(latch, OF_BODIES)
    whole = timed(lambda: alone(latch, OF_BODIES))
    asked = plan(latch, BESIDE_CORES, OF_BODIES, screened=True)
    spent = timed(lambda: swept(asked))
    print(
        f"{asked.count} screened rows beside two cores and a target: as {spent / whole:.0f} designs by "
        f"themselves, {1e3 * whole:.0f} ms each"
    )
    long = plan(design, {**COPPER, "winding.turns": {"from": 6, "to": 16, "step": 0.05}}, FIGURES)
    one, two = (clocks(lambda n=n: swept(long, n)) for n in (1, 2))
    print(
        f"{long.count} rows on two processes: {one.wall / two.wall:.2f} times as fast as on one, their start "
        f"included; {one.own / (two.own + two.others / 2):.2f} by processor time, as with nothing beside them"
    )


if __name__ == "__main__":
    main()
