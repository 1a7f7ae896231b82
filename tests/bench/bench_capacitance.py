"""Winding capacitance against its finer self, and the equivalent circuit: times on one run."""

import time

import numpy as np

from coilgen.physics.circuit.capacitance import winding_capacitance
from coilgen.physics.circuit.equivalent_circuit import equivalent_circuit


def coil(heights, turns, width, spacing, outer):
    radius = outer - width / 2 - (width + spacing) * (np.arange(turns) + 0.5)
    position = np.concatenate([radius if k % 2 == 0 else radius[::-1] for k in range(len(heights))])
    length = 2 * np.pi * position
    passed = np.concatenate([[0.0], np.cumsum(length)]) / np.sum(length)
    return {
        "height": np.repeat(heights, turns),
        "position": position,
        "width": np.full(position.size, width),
        "thickness": np.full(position.size, 35e-6),
        "length": length,
        "start": passed[:-1],
        "end": passed[1:],
        "interfaces": [-1.655e-3, -1.6e-3, 0.0, 55e-6],
        "permittivity": [3.5, 4.5, 3.5],
    }


def best_time(work, repeats=7):
    times = []
    for _ in range(repeats):
        begin = time.perf_counter()
        work()
        times.append(time.perf_counter() - begin)
    return min(times)


def main():
    four = [17.5e-6, -2.175e-4, -1.3825e-3, -1.6175e-3]
    cases = {
        "1 layer x 14": coil(four[:1], 14, 1.5e-4, 1.5e-4, 12e-3),
        "4 layers x 25": coil(four, 25, 1.5e-4, 1.5e-4, 12e-3),
        "4 layers x 60": coil(four, 60, 1.5e-4, 1.5e-4, 25e-3),
    }
    print(f"{'winding':16} {'time ms':>8} {'C pF':>9} {'finer (10)':>10} {'ratio':>6} {'difference':>10}")
    for name, arrays in cases.items():
        fine = best_time(lambda a=arrays: winding_capacitance(**a, divisions=10), 2)
        quick = best_time(lambda a=arrays: winding_capacitance(**a))
        found, finer = (winding_capacitance(**arrays, divisions=n).capacitance for n in (3, 10))
        print(
            f"{name:16} {quick * 1e3:8.1f} {found * 1e12:9.4f} {fine * 1e3:10.1f} "
            f"{fine / quick:6.1f} {found / finer - 1:10.2%}"
        )
    frequency = np.geomspace(1e3, 1e7, 41)
    x = np.sqrt(1j * frequency / 2e5)
    z = 0.5 * x / np.tanh(x) + 2j * np.pi * frequency * (10e-6 - 2e-6 * (1 - np.tanh(x) / x))
    inductance = z.imag / (2 * np.pi * frequency)
    fit = best_time(lambda: equivalent_circuit(frequency, z.real, inductance, dc_resistance=0.5))
    print(f"equivalent circuit, 4 stages, 41 frequencies: {fit * 1e3:.1f} ms")


if __name__ == "__main__":
    main()
