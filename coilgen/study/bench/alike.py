"""Whether boards of a bench are as much alike as their readings can tell."""

from collections.abc import Iterator

import numpy as np

from coilgen.study.bench.fit import Fit
from coilgen.units import per_cent

_CHANCE = 1e-3
"""Of boards that are all alike, the share for which the errors of readings alone scatter as much."""


def scatter(fit: Fit) -> Iterator[str]:
    """What differs from board to board by more than its readings do, which no band of boards to come holds.

    By the sum of squares over the readings' errors, each reading over what was learnt for its board.
    """
    from scipy.special import chdtri

    problem = fit.problem
    for figure in dict.fromkeys(each.figure for each in problem.readings):
        chosen = [
            number
            for number, each in enumerate(problem.readings)
            if each.figure == figure and each.sample in problem.boards and fit.used[number]
        ]
        if len({problem.readings[number].sample for number in chosen}) < 2:
            continue
        values, errors = (
            np.array([getattr(problem.readings[number], name) for number in chosen]) / fit.values[chosen]
            for name in ("value", "uncertainty")
        )
        mean = np.average(values, weights=errors**-2.0)
        if float((((values - mean) / errors) ** 2).sum()) > chdtri(len(chosen) - 1, _CHANCE):
            yield (
                f"The boards differ in {figure} by {per_cent(values.std(ddof=1), 1)} (one standard "
                "deviation), more "
                f"than readings of {per_cent(np.abs(errors).mean(), 2)} explain: boards to come "
                "differ as much from "
                "what is told of them, besides its band."
            )
