"""A design file that every shop makes, quick to compute, and the same with other tables besides."""

import tomllib

import pytest

from coilgen.design.design import Design
from coilgen.design.reading import read_tables
from coilgen.errors import DesignError

SMALL = """name = "small"
[winding]
shape = "round"
layers = 2
turns = 3
trace_width = "0.3 mm"
trace_spacing = "0.3 mm"
outer_size = "16 mm"
"""

TABLES = tomllib.loads(SMALL)


def small_with(**tables: object) -> Design:
    """The small design with more tables."""
    return read_tables({**TABLES, **tables})


def faults_with(**tables: object) -> list[str]:
    """Lines told of the small design with more tables, one for each fault."""
    with pytest.raises(DesignError) as caught:
        small_with(**tables)
    return [str(fault) for fault in caught.value.faults]
