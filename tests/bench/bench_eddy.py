"""Times of what eddy currents add over frequency, against one dense complex solve of as many filaments.

Run with one thread (OMP_NUM_THREADS=1) for ratios that mean something.
"""

import sys
from pathlib import Path
from time import perf_counter

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from eddy_cases import change

from coilgen.physics.base.conductor import Conductor
from coilgen.physics.eddy.coupling import coupling
from coilgen.physics.eddy.section import section
from coilgen.physics.eddy.spectrum import eddy_spectrum
from coilgen.physics.eddy.turns import turns

COPPER = 1.7241e-8
MM = 1e-3
SWEEP = np.logspace(3, 7, 41)


def rings(radii, width, heights):
    radius, layer = np.tile(radii, len(heights)), np.repeat(np.arange(1, len(heights) + 1), len(radii))
    point = np.stack([radius, np.zeros(len(radius))], axis=1)
    count = len(radius)
    return Conductor(
        start=point,
        end=point,
        centre=np.zeros((count, 2)),
        sweep=np.full(count, 2 * np.pi),
        width=np.full(count, width),
        thickness=np.full(count, 35e-6),
        z=np.asarray(heights)[layer - 1],
        layer=layer,
    )


def polygon(sides, count, apothem, pitch, width, heights):
    angle = 2 * np.pi * np.arange(-1, sides * count + 1) / sides
    normal = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    distance = apothem + pitch * np.arange(-1, sides * count + 1) / sides
    run = np.array(
        [np.linalg.solve(normal[k : k + 2], distance[k : k + 2]) for k in range(sides * count + 1)]
    )
    runs = [run if k % 2 == 0 else (run * [1, -1])[::-1] for k in range(len(heights))]
    layer = np.repeat(np.arange(1, len(heights) + 1), sides * count)
    return Conductor(
        start=np.vstack([one[:-1] for one in runs]),
        end=np.vstack([one[1:] for one in runs]),
        centre=np.full((len(layer), 2), np.nan),
        sweep=np.zeros(len(layer)),
        width=np.full(len(layer), width),
        thickness=np.full(len(layer), 35e-6),
        z=np.asarray(heights)[layer - 1],
        layer=layer,
    )


def seconds(work, repeats=5):
    """Shortest of some runs."""
    times = []
    for _ in range(repeats):
        start = perf_counter()
        work()
        times.append(perf_counter() - start)
    return min(times)


def sweep_of(winding, cells):
    """Everything from radii to 41 frequencies, on the filaments given."""
    flux = coupling(winding, cells)
    area = 0.25 * np.outer(winding.width * winding.thickness, cells.dy * cells.dz)
    resistance = 2 * np.pi * COPPER * winding.radius[:, None] / area
    uniform = np.broadcast_to(0.25 * cells.dy * cells.dz, resistance.shape)
    spectrum = eddy_spectrum(flux.flux, resistance, flux.flux(uniform[..., None]), SWEEP[-1])
    return spectrum.resistance(SWEEP), spectrum.inductance(SWEEP)


def against_a_dense_solve():
    """100 turns of 20 filaments: 2000 unknowns."""
    winding = turns(rings(3 * MM + 0.3 * MM * np.arange(25), 0.15 * MM, -0.2 * MM * np.arange(4)))
    cells = section(edge=0.02, largest=0.16, through=1.0)
    count = len(winding.radius) * len(cells.y)
    rng = np.random.default_rng(0)
    matrix = rng.standard_normal((count, count)) + (count + 1j) * np.eye(count)
    right = rng.standard_normal(count).astype(complex)
    solve = seconds(lambda: np.linalg.solve(matrix, right), 3)
    sweep = seconds(lambda: sweep_of(winding, cells))
    print(
        f"unknowns {count}: one complex solve {solve * 1e3:.0f} ms, whole sweep {sweep * 1e3:.0f} ms, ",
        end="",
    )
    print(f"ratio 1/{solve / sweep:.1f}")


def whole_coils():
    layers = -0.2 * MM * np.arange(4)
    coils = {
        "round, 25 turns, 4 layers in line": rings(3 * MM + 0.3 * MM * np.arange(25), 0.15 * MM, layers),
        "square, 25 turns, 4 layers": polygon(4, 25, 3 * MM, 0.3 * MM, 0.15 * MM, layers),
        "hexagon, 25 turns, 4 layers": polygon(6, 25, 3 * MM, 0.3 * MM, 0.15 * MM, layers),
        "square, 14 turns, 2 layers": polygon(4, 14, 5 * MM, 0.3 * MM, 0.15 * MM, layers[:2]),
    }
    for name, coil in coils.items():
        print(f"{name:36} {1e3 * seconds(lambda coil=coil: change(coil, COPPER, SWEEP), 3):7.0f} ms")


if __name__ == "__main__":
    against_a_dense_solve()
    whole_coils()
