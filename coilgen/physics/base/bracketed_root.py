"""Root of a continuous function between two places where its sign differs; standard library only."""

import sys
from collections.abc import Callable

_STEPS = 200
_FOUR_ULPS = 4.0 * sys.float_info.epsilon


def root_between(
    function: Callable[[float], float], low: float, high: float, *, within: float = 0.0
) -> float:
    """Where a function is 0 between low < high, to `within` or to the last digits.

    False position with the Illinois rule (M. Dowell and P. Jarratt, BIT 11, 1971); where two steps do not
    halve the bracket, the next is its middle. Raises ValueError unless the signs at both ends differ.

    >>> round(root_between(lambda x: x * x - 2.0, 0.0, 2.0), 12)
    1.414213562373
    """
    begin, end = function(low), function(high)
    if begin * end > 0.0:
        raise ValueError("the function has one sign at both ends")
    if begin == 0.0:
        return low
    widths, side = (high - low, high - low), 0
    for _ in range(_STEPS):
        least = max(within, _FOUR_ULPS * max(abs(low), abs(high)))
        if end == 0.0 or high - low <= least:
            return high
        share = 0.5 if high - low > 0.5 * widths[0] and side else begin / (begin - end)
        inset = 0.5 * least / (high - low)
        at = low + min(max(share, inset), 1.0 - inset) * (high - low)
        value = function(at)
        widths = (widths[1], high - low)
        if (value > 0.0) == (begin > 0.0) and value != 0.0:
            low, begin, end = at, value, 0.5 * end if side > 0 else end
            side = 1
        else:
            high, end, begin = at, value, 0.5 * begin if side < 0 else begin
            side = -1
    raise ArithmeticError("no root found to the precision asked for")
