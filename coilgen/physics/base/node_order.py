"""An order of a mesh's nodes in which factors stay small, known beforehand: nested dissection.

A line through the middle of a rectangle of nodes parts it in two that do not meet; both come before the line,
each parted again in the same way (A. George, SIAM Journal on Numerical Analysis 10, 1973). One order serves
all materials and frequencies of a mesh.
"""

import numpy as np
from numpy.typing import NDArray

_FEWEST = 24
"""Nodes that are parted no further."""
_NARROWEST = 5
"""Nodes across that a line between elements still parts."""
Nodes = NDArray[np.int64]


def dissected(nodes: Nodes) -> Nodes:
    """All nodes of a rectangle (n, m), which starts and ends within elements of three nodes, in a row.

    Lines between elements are its odd rows and columns.

    >>> dissected(np.arange(25).reshape(5, 5))[-5:].tolist()
    [15, 16, 17, 18, 19]
    """
    parts: list[Nodes] = []
    _part(nodes, 0, 0, parts)
    return np.concatenate(parts)


def _part(nodes: Nodes, row: int, column: int, parts: list[Nodes]) -> None:
    """Adds what a part of the rectangle that begins at a row and a column of it is parted in."""
    if nodes.shape[1] > nodes.shape[0]:
        nodes, row, column = nodes.T, column, row
    count = len(nodes)
    middle = count // 2 + (row + count // 2 + 1) % 2
    if nodes.size <= _FEWEST or count < _NARROWEST or middle >= count - 1:
        parts.append(nodes.ravel())
        return
    _part(nodes[:middle], row, column, parts)
    _part(nodes[middle + 1 :], row + middle + 1, column, parts)
    parts.append(nodes[middle])
