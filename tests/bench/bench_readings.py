"""How often what a bench teaches holds: 200 benches drawn from the tolerances and the readings' errors.

Of each cause that is pinned, in how many benches its 95 % hold the truth (181 to 197 of 200 is what a
binomial allows), how much narrower bands become, how often a shorted turn is found, and named where there is
none. Some 15 minutes.

Run: OPENBLAS_NUM_THREADS=1 PYTHONPATH=tests python tests/bench/bench_readings.py [benches]
"""

import sys
from collections import Counter

import numpy as np
from benches import held

from coilgen.study.bench.outliers import SHORTED


def narrower(compared) -> float:
    before, after = compared.before_limits, compared.after_limits
    return (before[1] - before[0]) / (after[1] - after[0])


def main(benches: int) -> None:
    pinned, right, falsely = Counter(), Counter(), 0
    gained = {"resistance": [], "temperature": []}
    for seed in range(benches):
        _, places, found = held(1000 + seed)
        falsely += any(each.what == SHORTED for each in found.named)
        for told, place in zip(found.causes, places, strict=True):
            if told.pinned:
                low, _, high = told.after
                pinned[told.cause.name] += 1
                right[told.cause.name] += low <= told.cause.value(place) <= high
        for name, ratios in gained.items():
            ratios += [narrower(each) for each in found.compared if each.reading.figure == name]
    for name, count in pinned.items():
        print(f"{name}: pinned {count} times, truth inside {right[name]} times")
    for name, ratios in gained.items():
        print(f"band of {name}: {np.median(ratios):.1f} times narrower, least {min(ratios):.1f}")
    print(f"shorted turns named where there is none: {falsely} of {benches}")
    found = [held(5000 + seed, shorted="A2")[2] for seed in range(benches // 5)]
    named = sum([(each.what, each.sample) for each in one.named] == [(SHORTED, "A2")] for one in found)
    print(f"shorted turns found: {named} of {len(found)}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 200)
