"""Field kernel against magpylib's Polyline: 200 x 200 points by 3,000 segments in one run."""

import time

import magpylib
import numpy as np

from coilgen.physics.field.filaments import Filaments
from coilgen.physics.field.kernel import flux_density_per_ampere

SEGMENTS = 3000
ROWS = 10


def timed(work, repeats=1):
    """Best wall time in s and the last result."""
    best = np.inf
    for _ in range(repeats):
        begin = time.perf_counter()
        result = work()
        best = min(best, time.perf_counter() - begin)
    return best, result


def main():
    angle = np.linspace(0, 20 * np.pi, SEGMENTS + 1)
    radius = np.linspace(5e-3, 10e-3, SEGMENTS + 1)
    vertices = np.column_stack([radius * np.cos(angle), radius * np.sin(angle), 0 * angle])
    line = np.linspace(-10e-3, 10e-3, 200)
    points = np.stack(np.meshgrid(line, line, [1e-3]), axis=-1).reshape(-1, 3)
    polyline = magpylib.current.Polyline(current=1.0, vertices=vertices)
    print(f"{'route':34}{'s':>10}{'ns a pair':>12}{'ratio':>8}")
    part = points[:: 200 // ROWS]
    slow, theirs = timed(lambda: polyline.getB(part))
    slow *= len(points) / len(part)
    pairs = len(points) * SEGMENTS
    print(f"{'magpylib Polyline (scaled up)':34}{slow:10.3f}{slow / pairs * 1e9:12.2f}{1:8}")
    for name, width in (("filaments", 0.0), ("strips 0.2 mm wide, 1 mm away", 2e-4)):
        path = Filaments(
            start=vertices[:-1],
            end=vertices[1:],
            width=np.full(SEGMENTS, width),
            thickness=np.full(SEGMENTS, 35e-6),
        )
        flux_density_per_ampere(path, points[:2])
        fast, ours = timed(lambda path=path: flux_density_per_ampere(path, points), 5)
        print(f"{name:34}{fast:10.3f}{fast / pairs * 1e9:12.2f}{slow / fast:8.0f}")
        off = np.max(np.abs(ours[:: 200 // ROWS] - theirs)) / np.abs(theirs).max()
        print(f"{'  largest difference from magpylib':34}{off:10.1e}")


if __name__ == "__main__":
    main()
