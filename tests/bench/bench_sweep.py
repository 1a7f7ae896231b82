"""Processor time of a sweep's row, exact and screened, over that of a design by itself, in one run.

Of rules, resistance, inductance, current, temperature and force of a coil that pushes a magnet. A design by
itself is drawn, checked and figured with its bands.

Run: OPENBLAS_NUM_THREADS=1 python tests/bench/bench_sweep.py
"""

import time

from coilgen import job
from coilgen.catalogue import templates
from coilgen.design.reading import read_text
from coilgen.study.plan import plan
from coilgen.study.sweep_rows import rows

FIGURES = ("rules_broken", "resistance_20c", "inductance", "current", "temperature", "force_on_magnet")
COPPER = {"winding.turns": [11, 12, 13, 14, 15, 16], "winding.trace_width": [0.13, 0.15]}
SCREENED = {
    "winding.turns": {"from": 9, "to": 18, "step": 1},
    "winding.trace_width": {"from": 0.12, "to": 0.192, "step": 0.008},
    "winding.trace_spacing": {"from": 0.1, "to": 0.172, "step": 0.008},
    "winding.outer_size": {"from": 11.6, "to": 14.3, "step": 0.3},
}
DRIVEN = {**COPPER, "drive.voltage": [0.4, 0.5, 0.6, 0.7, 0.8]}


def alone(design) -> None:
    coil, art = job.draw(design)
    job.findings_of(design, coil, art)
    case = job.case_of(design, coil, art)
    for name in FIGURES[1:]:
        case.figure(name)


def timed(work, clock=time.process_time) -> float:
    began = clock()
    work()
    return clock() - began


def swept(asked, workers: int = 1) -> None:
    for _ in rows(asked, range(asked.count), workers=workers):
        pass


def main() -> None:
    design = read_text(templates()["optical-shutter"])
    alone(design)
    own = plan(design, COPPER, FIGURES)
    designs = [own.built(row) for row in range(own.count)]
    each = timed(lambda: [alone(one) for one in designs]) / len(designs)
    print(f"a design by itself: {1e3 * each:.0f} ms = 1")
    for says, vary in (("turns and width", COPPER), ("turns, width and five voltages", DRIVEN)):
        asked = plan(design, vary, FIGURES)
        row = timed(lambda asked=asked: swept(asked)) / asked.count
        print(f"a row of a sweep of {says}: {row / each:.2f}")
    asked = plan(design, SCREENED, FIGURES, screened=True)
    spent = timed(lambda: swept(asked))
    print(f"{asked.count} screened rows, no two of one copper: as {spent / each:.0f} designs by themselves")
    long = plan(design, {**COPPER, "winding.turns": {"from": 6, "to": 16, "step": 0.05}}, FIGURES)
    one, two = (timed(lambda n=n: swept(long, n), time.perf_counter) for n in (1, 2))
    print(
        f"{long.count} rows on two processes: {one / two:.2f} times as fast as on one, their start included"
    )


if __name__ == "__main__":
    main()
