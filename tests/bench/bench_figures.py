"""Processor time of all electrical figures of four layers of 25 turns, after import.

Aim: under 150 ms. Run: python tests/bench/bench_figures.py
"""

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import statistics
import time

from coilgen.design.reading import read_text
from coilgen.job import draw, quantities
from coilgen.result.figure import Case

RUNS = 5
DESIGN = """
name = "timed"
[winding]
shape = "{shape}"
layers = 4
turns = 25
trace_width = 0.2
trace_spacing = 0.2
inner_size = 10
"""


def main() -> None:
    kinds = {name: kind for name, kind in quantities().items() if kind.group == "electrical"}
    for shape in ("round", "square", "hexagonal", "octagonal"):
        design = read_text(DESIGN.format(shape=shape))
        coil, art = draw(design)
        times: dict[str, list[float]] = {name: [] for name in kinds}
        for _ in range(RUNS + 1):
            case = Case(design=design, coil=coil, art=art, quantities=quantities())
            for name in kinds:
                begin = time.process_time()
                case.figure(name)
                times[name].append(1e3 * (time.process_time() - begin))
        medians = {name: statistics.median(runs[1:]) for name, runs in times.items()}
        parts = ", ".join(f"{name} {ms:.1f}" for name, ms in medians.items() if ms >= 0.5)
        print(f"{shape:10} {sum(medians.values()):6.1f} ms: {parts}")


if __name__ == "__main__":
    main()
