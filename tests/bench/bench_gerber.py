"""Time to write all Gerber files of many-layered windings, against importing the library alone.

Run: python tests/bench/bench_gerber.py
"""

import math
import subprocess
import sys
import time
from types import SimpleNamespace

from coilgen.artwork.art import Art, Pad
from coilgen.exports.fab.gerber import EXPORT
from coilgen.geometry.arc import Arc
from coilgen.geometry.closed import circle
from coilgen.geometry.path import Path
from coilgen.geometry.point import direction
from coilgen.layout.coil import Trace

LAYERS, TURNS, PITCH, OUTER = 8, 40, 0.3e-3, 20e-3


def spiral(turns):
    centre, radius, arcs = 0j, OUTER, []
    for quarter in range(4 * turns):
        arcs.append(Arc(centre, radius, quarter * math.pi / 2, math.pi / 2))
        centre += PITCH / 4 * direction((quarter + 1) * math.pi / 2)
        radius -= PITCH / 4
    return Path(tuple(arcs))


def result(layers, turns):
    """As much of a result as the files of the layers ask for."""
    path = spiral(turns)
    pads = [Pad(layer=k, at=path.end, diameter=0.6e-3, terminal=None) for k in range(1, layers + 1)]
    art = Art(
        copper_layers=layers,
        traces=tuple(Trace(layer=k, path=path, width=0.15e-3) for k in range(1, layers + 1)),
        pads=tuple(pads),
        holes=(),
        openings=(),
        legend=(),
        outline=circle(44e-3),
        pocket=None,
    )
    stackup = SimpleNamespace(flexible=False)
    return SimpleNamespace(
        art=art, design=SimpleNamespace(name="bench", board=SimpleNamespace(stackup=stackup))
    )


def best(work, repeats=7):
    times = []
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def main():
    importing = best(lambda: subprocess.run([sys.executable, "-c", "import gerber_writer"], check=True), 3)
    bare = best(lambda: subprocess.run([sys.executable, "-c", "pass"], check=True), 3)
    library = importing - bare
    print(f"import of the library: {library * 1e3:.1f} ms")
    print("layers  turns    arcs   bytes     ms   ms / import")
    for layers, turns in ((2, 10), (4, 20), (8, 20), (LAYERS, TURNS)):
        made = result(layers, turns)
        size = sum(map(len, EXPORT.files(made).values()))
        spent = best(lambda made=made: EXPORT.files(made))
        arcs, share = 4 * turns * layers, spent / library
        print(f"{layers:6d} {turns:6d} {arcs:7d} {size:7d} {spent * 1e3:6.1f} {share:8.2f}")


if __name__ == "__main__":
    main()
