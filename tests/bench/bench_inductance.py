"""Layer inductances against the plain double sums they replace, in one run.

Bars: the exact six-fold integral of two rectangular bars (C. Hoer, C. Love, J. Res. NBS 69C, 1965), in pure
Python, every pair of parallel sides once, square ends. Chords: 36 filaments a turn, in numpy, every pair.
"""

import math
import sys
import time
import tracemalloc
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from spirals import Section, polygon_spiral, round_spiral
from straight_conductors import bars_inductance, parallel_filaments

from coilgen.physics.inductance.mitred_strips import mitred_strips
from coilgen.physics.inductance.straight_filaments import skew_filaments
from coilgen.physics.inductance.winding import layer_inductances

FOUR = (0.0, -0.2, -1.4, -1.6)
EIGHT = tuple(-0.2 * k for k in range(8))


def double_sum_of_bars(coil):
    """Pure Python, one pair at a time."""
    section = float(coil.width[0]), float(coil.thickness[0])
    bars = []
    for start, end, z in zip(coil.start.tolist(), coil.end.tolist(), coil.z.tolist(), strict=True):
        axis = 0 if abs(end[0] - start[0]) > abs(end[1] - start[1]) else 1
        low, high = sorted((start[axis], end[axis]))
        bars.append((axis, start[1 - axis], z, low, high - low, math.copysign(1.0, end[axis] - start[axis])))
    total = 0.0
    for n, (axis, across, z, low, length, sense) in enumerate(bars):
        for other in bars[: n + 1]:
            if other[0] == axis:
                pair = bars_inductance(
                    other[1] - across, other[2] - z, other[3] - low, section, (length, other[4])
                )
                total += pair * sense * other[5] * (1.0 if other is bars[n] else 2.0)
    return total


def double_sum_of_chords(coil):
    """All pairs of filaments, one row at a time."""
    strips = mitred_strips(coil, np.pi / 18)
    length = np.abs(strips.end - strips.start)
    section = float(strips.width[0]), float(strips.thickness[0])
    total = sum(bars_inductance(0.0, 0.0, 0.0, section, (one, one)) for one in length.tolist())
    everything = np.arange(len(strips))
    for k in everything:
        turn = strips.axis[k].conjugate() * strips.axis
        level = (np.abs(turn.imag) < 1e-7) & (everything != k)
        tilted = np.abs(turn.imag) >= 1e-7
        first, last = ((p[level] - strips.start[k]) / strips.axis[k] for p in (strips.start, strips.end))
        distance = np.maximum(np.hypot(first.imag, strips.z[level] - strips.z[k]), 1e-12)
        total += float(parallel_filaments(length[k], first.real, last.real, distance).sum())
        one = tuple(np.full(tilted.sum(), v[k]) for v in (strips.start, strips.end, strips.axis))
        many = tuple(v[tilted] for v in (strips.start, strips.end, strips.axis))
        total += float(skew_filaments(one, many, strips.z[tilted] - strips.z[k])[0].sum())
    return total


def timed(work, repeats):
    """Best processor time in s and the last result."""
    best = np.inf
    for _ in range(repeats):
        begin = time.process_time()
        result = work()
        best = min(best, time.process_time() - begin)
    return best, result


def peak_memory(work):
    tracemalloc.start()
    work()
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return peak


def compared(name, coil, plain):
    fast, found = timed(lambda: layer_inductances(coil), 7)
    slow, other = timed(lambda: plain(coil), 1)
    off = found.total / other - 1
    print(f"{name:32}{fast * 1e3:10.1f}{slow * 1e3:12.0f}{slow / fast:9.0f}{off:+11.1e}")


def main():
    print(f"{'winding':32}{'ms':>10}{'plain, ms':>12}{'ratio':>9}{'deviation':>11}")
    wide = Section(width=0.2, heights=FOUR)
    compared("square, 4 layers of 25", polygon_spiral(4, 25, 3.0, 0.35, wide), double_sum_of_bars)
    compared("round, 4 layers of 25", round_spiral(25, 3.0, 0.35, wide), double_sum_of_chords)
    print(f"\n{'winding':32}{'ms':>10}{'peak, MB':>12}  method")
    for name, sides, turns, heights in (
        ("square, 4 layers of 25", 4, 25, FOUR),
        ("hexagonal, 4 layers of 25", 6, 25, FOUR),
        ("octagonal, 4 layers of 25", 8, 25, FOUR),
        ("round, 4 layers of 25", 0, 25, FOUR),
        ("hexagonal, 8 layers of 60", 6, 60, EIGHT),
        ("round, 8 layers of 60", 0, 60, EIGHT),
    ):
        section = Section(width=0.2, heights=heights)
        coil = (
            polygon_spiral(sides, turns, 3.0, 0.35, section)
            if sides
            else round_spiral(turns, 3.0, 0.35, section)
        )
        fast, found = timed(lambda coil=coil: layer_inductances(coil), 5)
        peak = peak_memory(lambda coil=coil: layer_inductances(coil))
        print(f"{name:32}{fast * 1e3:10.1f}{peak / 1e6:12.1f}  {found.method}")


if __name__ == "__main__":
    main()
