"""Times of soft bodies on graded cells: TEAM problem 13, and a square plunger magnet at four currents.

Wall and processor seconds; the plunger is a quarter with its images, 40,000 unknowns in all.
"""

import sys
import time
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

import team13
from graded_cells import ALONG_X, ALONG_Y, Box, GradedBody, box_lines
from graded_core import (
    applied_load,
    graded_core,
    graded_linkage,
    magnetised_cells,
    section_flux_density,
)
from graded_force import force_on_body

from coilgen.physics.core.magnetisation_curve import saturating_curve
from coilgen.physics.field.filaments import Filaments
from coilgen.physics.field.kernel import flux_density_per_ampere

STEEL = saturating_curve(1000.0, 2.0)
CURRENTS = (500.0, 1000.0, 2000.0, 4000.0)
FINE, WIDE = 0.25e-3, 1.15e-3


def box(low, high):
    return Box(low=tuple(1e-3 * v for v in low), high=tuple(1e-3 * v for v in high))


FRAME = (
    box((0, 0, -3), (12, 12, 0)),
    box((9, 0, 0), (12, 12, 20)),
    box((0, 9, 0), (9, 12, 20)),
    box((5.3, 0, 20), (12, 12, 23)),
    box((0, 5.3, 20), (5.3, 12, 23)),
)
PLUNGER = (box((0, 0, 2), (5, 5, 30)),)
NEAR = ((0.005, 0.0053), (0.005, 0.0053), (0.0, 0.002, 0.02, 0.023))
"""Faces at the gaps, m, along x, y, z."""


def plunger_magnet():
    """Frame and plunger, a quarter of each, 0.3 mm apart at the sides and 2 mm at the bottom."""
    found = []
    for boxes in (FRAME, PLUNGER):
        lines = tuple(
            box_lines(boxes, axis, [(place, FINE) for place in NEAR[axis]], WIDE) for axis in range(3)
        )
        found.append(GradedBody(boxes=boxes, lines=lines))
    return found


def square_coil():
    """One ampere-turn between plunger and walls."""
    starts, ends = [], []
    for half in (6.3e-3, 7.1e-3, 7.9e-3):
        for z in np.linspace(1.5e-3, 18.5e-3, 18):
            ring = half * np.array([[1, 1, 0], [-1, 1, 0], [-1, -1, 0], [1, -1, 0]]) + [0, 0, z]
            starts.append(ring)
            ends.append(np.roll(ring, -1, axis=0))
    start = np.concatenate(starts)
    bare = np.zeros(len(start))
    share = np.full(len(start), 1 / 54)
    return Filaments(start=start, end=np.concatenate(ends), width=bare, thickness=bare, share=share)


class Clock:
    """Wall and processor seconds since it was made."""

    def __init__(self):
        self.wall, self.processor = time.perf_counter(), time.process_time()

    def __str__(self):
        used = time.process_time() - self.processor
        return f"{time.perf_counter() - self.wall:6.1f} s, processor {used:6.1f} s"


def told(name, core):
    unknowns, images = core.cells.tie.shape[1], len(core.cells.images)
    print(f"{name}: {unknowns} unknowns, {unknowns * images} with images, {len(core.between)} charges")


def problem_13():
    clock = Clock()
    core = graded_core(team13.bodies(), (team13.CURVE,) * 2, team13.SYMMETRIES)
    told("problem 13", core)
    print(f"  charges' means {clock}")
    load, start = applied_load(core, team13.coil_field()), None
    for current in (1000.0, 3000.0):
        state = magnetised_cells(core, current * load, start)
        start = state.m
        print(f"  {current:6.0f} A  {clock}  plate {section_flux_density(state, 0, 2, 1e-3):.3f} T")


def plunger():
    clock = Clock()
    core = graded_core(plunger_magnet(), (STEEL, STEEL), (ALONG_X, ALONG_Y))
    told("plunger", core)
    path = square_coil()
    load, start = applied_load(core, lambda points: flux_density_per_ampere(path, points)), None
    for current in CURRENTS:
        state = magnetised_cells(core, current * load, start)
        start = state.m
        pull = force_on_body(state, 1, lambda p, i=current: i * flux_density_per_ampere(path, p))[2]
        added = graded_linkage(state, load) / current
        print(f"  {current:6.0f} A  {clock}  pull {pull:8.2f} N  added {added:.3e} H a turn squared")


if __name__ == "__main__":
    graded_core(plunger_magnet()[1:], (STEEL,))
    print("kernels compiled")
    problem_13()
    plunger()
