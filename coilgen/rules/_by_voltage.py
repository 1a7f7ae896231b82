"""Tables of least spacings by voltage: each value holds up to a voltage, the last to the table's end."""

from functools import cache

import numpy as np

from coilgen.catalogue import rows
from coilgen.geometry.distance import Reals
from coilgen.units import quantity


@cache
def spacings(table: str, name: str) -> tuple[Reals, Reals]:
    """Of a row of data: up to which voltages, V (n,), rising, which spacings hold, m (n,)."""
    row = rows(table)[name]
    up_to, least = row["up_to"], row["spacing"]
    assert isinstance(up_to, list) and isinstance(least, list)
    return np.array(up_to, float), np.array([quantity(text, "length") for text in least])


def least_spacing(table: str, name: str, voltages: Reals) -> Reals:
    """m, (n,) for voltages (n,), V, none of which is beyond the table."""
    up_to, least = spacings(table, name)
    found: Reals = least[np.searchsorted(up_to, voltages - 1e-9)]
    return found


def highest_voltage(table: str, name: str) -> float:
    """The last voltage that a row tells a spacing for, V."""
    return float(spacings(table, name)[0][-1])
