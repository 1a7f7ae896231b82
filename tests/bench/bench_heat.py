"""Times of the heat model: building and solving the steady state, a transient of ten minutes, pulses.

First on assemblies made by hand, then on the templates: from a design with its art and resistance.

Run: python tests/bench/bench_heat.py
"""

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from heat_cases import bare, board, on_steel, steel
from heat_designs import case_of

from coilgen.catalogue import templates
from coilgen.figures.heat import _warmth as _heat
from coilgen.physics.heat.body import Assembly, Supply, Surroundings, bounded
from coilgen.physics.heat.network import network
from coilgen.physics.heat.pulse import largest_duty, largest_pulse, periodic_state
from coilgen.physics.heat.steady import state_at_peak, steady_state
from coilgen.physics.heat.transient import time_constants, warming

SUPPLY = Supply(voltage=6.0)
EIGHT = Assembly(
    board=board(layers=8, thickness=1.5e-3), surroundings=Surroundings(), top=steel(20e-3), bottom=steel()
)
CASES = {"bare, 2 layers": bare(), "on steel, 2 layers": on_steel(), "between plates, 8 layers": EIGHT}


def timed(work, repeats=5):
    """Best wall time in ms."""
    best = float("inf")
    for _ in range(repeats):
        begin = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - begin)
    return best * 1e3


def banded(assembly):
    """Steady state with its band, from the assembly."""
    return [
        steady_state(network(each), SUPPLY)
        for each in (bounded(assembly, air=1, joints=0), assembly, bounded(assembly, air=0, joints=1))
    ]


def works(assembly):
    """What is timed, by name."""
    net = network(assembly)
    rise = steady_state(net, SUPPLY).rise
    return {
        "steady state": lambda: steady_state(network(assembly), SUPPLY),
        "steady state with its band": lambda: banded(assembly),
        "largest current for 130 degC": lambda: state_at_peak(net, 130.0),
        "time constants": lambda: time_constants(net, rise, SUPPLY),
        "transient of 10 minutes": lambda: warming(net, SUPPLY, 600.0),
        "periodic state, 1 Hz": lambda: periodic_state(net, SUPPLY, 1.0, 0.5),
        "largest duty, 1 Hz, 80 degC": lambda: largest_duty(net, SUPPLY, 1.0, 80.0),
        "largest current of a 1 s pulse": lambda: largest_pulse(net, 130.0, 1.0),
    }


DESIGN_WORKS = {
    "temperature with its band": ("resistance_20c", lambda case: case.figure("temperature")),
    "transient of 10 minutes": (
        "temperature",
        lambda case: warming(_heat.net(case), _heat.level(case), 600.0),
    ),
    "temperature against time": ("temperature", lambda case: case.figure("temperature_against_time")),
    "every figure of heat": (
        "resistance_20c",
        lambda case: [case.figure(name) for name, kind in case.quantities.items() if kind.group == "heat"],
    ),
}
"""What is timed on a design, with the figure that is there before."""


def timed_on(text, before, work, repeats=5):
    """Best wall time in ms; the case is made anew before each."""
    best = float("inf")
    for _ in range(repeats):
        case = case_of(text)
        case.figure(before)
        begin = time.perf_counter()
        work(case)
        best = min(best, time.perf_counter() - begin)
    return best * 1e3


def bench_designs():
    print(f"\n{'template':28}{'nodes':>6}  {'work':34}{'ms':>9}{'ratio':>8}")
    for name, text in templates().items():
        nodes, first = len(_heat.net(case_of(text)).capacity), None
        for work, (before, call) in DESIGN_WORKS.items():
            each = timed_on(text, before, call)
            first = first or each
            print(f"{name:28}{nodes:6}  {work:34}{each:9.2f}{each / first:8.1f}")


def main():
    bench_assemblies()
    bench_designs()


def bench_assemblies():
    print(f"{'assembly':28}{'nodes':>6}  {'work':34}{'ms':>9}{'ratio':>8}")
    for name, assembly in CASES.items():
        nodes, first = len(network(assembly).capacity), None
        for work, call in works(assembly).items():
            call()
            each = timed(call)
            first = first or each
            print(f"{name:28}{nodes:6}  {work:34}{each:9.2f}{each / first:8.1f}")


if __name__ == "__main__":
    main()
