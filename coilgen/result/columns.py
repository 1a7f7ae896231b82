"""Columns of a table among the figures: their units, their values as arrays."""

from typing import Any

import numpy as np


def column(cells: list[Any]) -> np.ndarray[Any, np.dtype[Any]]:
    """Cells as an array (n,): of numbers nan where one does not apply, else as they are.

    >>> column([1.0, None]), column(["top", "bottom"]).tolist()
    (array([ 1., nan]), ['top', 'bottom'])
    """
    numbers = [cell for cell in cells if cell is not None]
    if all(isinstance(cell, int | float) and not isinstance(cell, bool) for cell in numbers):
        return np.array([np.nan if cell is None else cell for cell in cells], dtype=float)
    return np.array(cells, dtype=object if len(numbers) < len(cells) else None)


def column_units(unit: str) -> dict[str, str]:
    """Units of a table's columns, from the unit of its figure.

    >>> column_units("table(side, height m, per_ampere T/A)")
    {'side': '', 'height': 'm', 'per_ampere': 'T/A'}
    """
    inside = unit.removeprefix("table(").removesuffix(")")
    columns = (column.strip().partition(" ") for column in inside.split(","))
    return {name: told for name, _, told in columns}
