"""Corners of DXF polylines as text, thousands at once: the digits of all are worked out place by place."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

_WHOLE, _PARTS = 5, 9
"""Digits before and after the point: up to 100 m, in mm to the picometre."""
_GROUPS = (b" 10\n", b" 20\n")
"""Group codes of x and y (DXF Reference, LWPOLYLINE)."""
_SIGN = len(_GROUPS[0])
_POINT = _SIGN + 1 + _WHOLE
_END = _POINT + 1 + _PARTS


def corners(places: ArrayLike) -> str:
    """Group codes and values, mm, of places (n, 2), m, without needless zeros. ValueError from 100 m on.

    >>> corners([[0.0125, -1e-6]]).split()
    ['10', '12.5', '20', '-0.001']
    """
    units = np.rint(np.asarray(places) * 10.0 ** (_PARTS + 3)).astype(np.int64)
    whole, part = np.divmod(np.abs(units), 10**_PARTS)
    if (whole >= 10**_WHOLE).any():
        raise ValueError(f"a corner {whole.max() / 1e3:g} m from the centre")
    text = np.empty((*units.shape, _END + 1), np.uint8)
    text[..., :_SIGN] = np.frombuffer(b"".join(_GROUPS), np.uint8).reshape(len(_GROUPS), -1)
    text[..., _SIGN], text[..., _POINT], text[..., _END] = np.frombuffer(b"-.\n", np.uint8)
    text[..., _SIGN + 1 : _POINT] = _digits(whole, _WHOLE)
    text[..., _POINT + 1 : _END] = _digits(part, _PARTS)
    return text[_needed(text, units < 0)].tobytes().decode("ascii")


def _digits(numbers: NDArray[np.int64], count: int) -> NDArray[np.uint8]:
    """ASCII of decimal digits, the first the highest, along a last axis."""
    found = np.empty((*numbers.shape, count), np.uint8)
    left = numbers.astype(np.int32)
    for place in reversed(range(count)):
        left, before = left // 10, left
        found[..., place] = before - 10 * left + ord("0")
    return found


def _needed(text: NDArray[np.uint8], negative: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Which letters stand: a sign of what is below zero, no zeros ahead but one, none behind but one."""
    needed = np.ones(text.shape, bool)
    needed[..., _SIGN] = negative
    told = text != ord("0")
    ahead, behind = slice(_SIGN + 1, _POINT - 1), slice(_END - 1, _POINT + 1, -1)
    needed[..., ahead] = np.logical_or.accumulate(told[..., ahead], axis=-1)
    needed[..., behind] = np.logical_or.accumulate(told[..., behind], axis=-1)
    return needed
