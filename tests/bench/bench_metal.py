"""Processor time of metal near a coil: all frequencies from 10 Hz to 10 MHz, one thread, kernels warm.

Of bodies by themselves, and of templates as figures ask for them: in weak fields and at the drive's level.

python tests/bench/bench_metal.py
"""

import sys
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from core_cases import case
from metal_cases import INNER, IRON_ROD, MM, OUTER, STEEL_DISC, circle_path

from coilgen.catalogue import templates
from coilgen.figures.field._paths import winding_path
from coilgen.figures.in_place._metal import Level, metal
from coilgen.physics.base.one_thread import one_thread
from coilgen.physics.metal.near_coil import MetalBody, metal_near_coil
from coilgen.physics.metal.round_bodies import round_metal

LOWEST, HIGHEST = 10.0, 1e7
LEVELS: tuple[Level, Level] = ("weak", "drive")


def spent(work: Callable[[], object], repeat: int = 3) -> float:
    """Least processor time, s."""
    times = []
    for _ in range(repeat):
        begin = time.process_time()
        work()
        times.append(time.process_time() - begin)
    return min(times)


def of_template(name: str) -> float:
    """Of a template's metal at both levels, least, once what it shares with other figures is known, s."""
    times = []
    for _ in range(3):
        one = case(templates()[name])
        winding_path(one)
        known = [one.figure(each) for each in ("current", "inductance", "self_resonance")]
        assert None not in known
        begin = time.process_time()
        for level in LEVELS:
            metal(one, level)
        times.append(time.process_time() - begin)
    return min(times)


def main() -> None:
    path = circle_path(INNER)

    def plate(**facts: float) -> MetalBody:
        return MetalBody(round=False, size=(30 * MM, 30 * MM), bottom=-3 * MM, thickness=2 * MM, **facts)

    disc = MetalBody(round=True, size=(30 * MM, 30 * MM), bottom=-3 * MM, thickness=2 * MM, conductivity=25e6)
    cases: dict[str, Callable[[], object]] = {
        "aluminium disc": lambda: metal_near_coil([disc], path, LOWEST, HIGHEST, round_winding=True),
        "square aluminium plate": lambda: metal_near_coil(
            [plate(conductivity=25e6)], path, LOWEST, HIGHEST, round_winding=True
        ),
        "square iron plate": lambda: metal_near_coil(
            [plate(conductivity=6e6, permeability=1000.0)], path, LOWEST, HIGHEST, round_winding=True
        ),
        "steel disc": lambda: round_metal([STEEL_DISC], INNER, LOWEST, HIGHEST, detail=0.3 * MM),
        "iron rod": lambda: round_metal([IRON_ROD], OUTER, LOWEST, HIGHEST, detail=MM),
    }
    with one_thread():
        for name, work in cases.items():
            print(f"{name:24s}{spent(work):6.2f} s")
        for name in ("stirrer-drive", "specimen-drawer-latch"):
            print(f"{name:24s}{of_template(name):6.2f} s")


if __name__ == "__main__":
    main()
