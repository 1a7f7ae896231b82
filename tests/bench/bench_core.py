"""Times, sizes and memory of soft-core solutions: a ferrite sheet, a saturating plate, and growing grids."""

import resource
import subprocess
import sys
import time

import numpy as np

from coilgen.physics.base.conductor import Conductor
from coilgen.physics.core.body import Body
from coilgen.physics.core.brick_grid import brick_grid
from coilgen.physics.core.effect import CHORDS
from coilgen.physics.core.load import winding_load
from coilgen.physics.core.magnetisation_curve import saturating_curve, straight_curve
from coilgen.physics.core.soft_core import core, coupled, magnetised
from coilgen.physics.field.filaments import filaments

SHEET = (Body(form="plate", size=(25e-3, 25e-3), thickness=0.2e-3, bottom=-1.9e-3), straight_curve(150.0))
STEEL = (
    Body(form="plate", size=(20e-3, 20e-3), thickness=2e-3, bottom=-3.7e-3),
    saturating_curve(1000.0, 2.0),
)


def winding():
    """Two layers of 14 turns, 24 mm over all."""
    angle = np.linspace(0, 28 * np.pi, 14 * 48 + 1)
    plane = (3.6e-3 + 0.3e-3 * angle / (2 * np.pi))[:, None] * np.column_stack([np.cos(angle), np.sin(angle)])
    layers = [plane[::-1] * [1, -1], plane]
    n = 2 * (len(plane) - 1)
    return Conductor(
        start=np.vstack([p[:-1] for p in layers]),
        end=np.vstack([p[1:] for p in layers]),
        centre=np.full((n, 2), np.nan),
        sweep=np.zeros(n),
        width=np.full(n, 150e-6),
        thickness=np.full(n, 35e-6),
        z=np.repeat([0.0, -1.6e-3], n // 2),
        layer=np.repeat([1, 2], n // 2),
    )


def solve(body, curve, cell, current):
    begin = time.perf_counter()
    one = core(brick_grid((body,), cell), (curve,))
    kernels = time.perf_counter()
    load = winding_load(one.grid, filaments(winding(), tolerance=CHORDS))
    loaded = time.perf_counter()
    state = magnetised(one, current * load)
    end = time.perf_counter()
    turns = 20
    for _ in range(turns):
        one.demagnetising(state.m)
    each = (time.perf_counter() - end) / turns
    added = coupled(state, load) / current
    return len(load), kernels - begin, loaded - kernels, end - loaded, each, added


def whole_process(name):
    """Wall and processor time of a fresh process that solves the case, and its peak memory in MB."""
    command = [sys.executable, __file__, name]
    begin, used = time.perf_counter(), resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime
    out = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    used = resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime - used
    return time.perf_counter() - begin, used, float(out)


def main():
    cases = {"sheet": (*SHEET, 0.5e-3, 1.0), "steel": (*STEEL, 0.5e-3, 100.0)}
    if len(sys.argv) > 1:
        solve(*cases[sys.argv[1]])
        print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
        return
    print("whole process, kernels cached")
    for name in cases:
        whole_process(name)
        seconds, used, memory = min(whole_process(name) for _ in range(5))
        print(f"  {name:8}{seconds:8.2f} s, processor {used:.2f} s,{memory:5.0f} MB")
    print(" unknowns  kernels    load   solve   matvec  ns / n log2 n      added H")
    for cell in (2e-3, 1e-3, 0.5e-3, 0.25e-3):
        n, kernels, load, newton, each, added = solve(*STEEL, cell, 100.0)
        scaled = each / (n * np.log2(n)) * 1e9
        print(f"{n:9}{kernels:9.3f}{load:8.3f}{newton:8.3f}{each * 1e3:7.2f}ms{scaled:15.2f}{added:13.4e}")


if __name__ == "__main__":
    main()
