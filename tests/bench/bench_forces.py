"""Times of all figures of force: magnet over a bare coil and over a core, steel target with cores.

Aims, on two idle cores after import: magnet with a core 2 s, target with an iron pin 4 s.
Run: python tests/bench/bench_forces.py
"""

import time

from coilgen.design.reading import read_text
from coilgen.job import draw, quantities
from coilgen.result.figure import Case

ROUND = """
name = "timed"
[winding]
shape = "round"
layers = 2
turns = 16
trace_width = 0.15
trace_spacing = 0.13
outer_size = 14
[magnet]
diameter = 5
thickness = 2
grade = "N42"
gap = 1
"""
SQUARE = """
name = "timed"
[winding]
shape = "square"
layers = 4
turns = 18
trace_width = 0.2
trace_spacing = 0.2
outer_size = 25
[pocket]
size = 6.1
[[core]]
place = "pocket"
diameter = 6
[target]
width = 10
thickness = 1
gap = 0.5
"""
DESIGNS = {
    "magnet, bare coil": ROUND,
    "magnet, iron disc": ROUND + '[[core]]\nform = "disc"\ndiameter = 14\nthickness = 0.5\n',
    "target, iron pin": SQUARE,
    "target, pin and plate": SQUARE + "[[core]]\nwidth = 25\nthickness = 1\n",
}


def main() -> None:
    kinds = {name: kind for name, kind in quantities().items() if kind.group == "force"}
    for says, text in DESIGNS.items():
        for _ in range(2):
            design = read_text(text)
            coil, art = draw(design)
            case = Case(design=design, coil=coil, art=art, quantities=quantities())
            case.value("current")
            wall, processor = time.perf_counter(), time.process_time()
            parts = {}
            for name in kinds:
                begin = time.perf_counter()
                case.figure(name)
                parts[name] = time.perf_counter() - begin
            wall, processor = time.perf_counter() - wall, time.process_time() - processor
        told = ", ".join(f"{name} {s:.2f}" for name, s in parts.items() if s >= 0.02)
        print(f"{says:22} {wall:5.2f} s (processor {processor:5.2f} s): {told}")


if __name__ == "__main__":
    main()
