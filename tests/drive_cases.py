"""Small coils under a drive, with figures on demand."""

from small_design import small_with

from coilgen.job import case_of, draw
from coilgen.result.figure import Case, Figure


def driven(tables: dict[str, object] | None = None, **drive: object) -> Case:
    """The small design under a drive, with more tables."""
    design = small_with(drive=drive, **(tables or {}))
    return case_of(design, *draw(design))


def figure(case: Case, name: str) -> Figure:
    """A figure that must apply."""
    found = case.figure(name)
    assert found is not None
    return found


def constant(case: Case) -> float:
    """Time constant of the hot coil, s."""
    return float(case.value("inductance") / case.value("hot_resistance"))


CORE = {"core": [{"material": "Mn-Zn ferrite", "form": "disc", "diameter": 16, "thickness": 1}]}
"""A ferrite disc under the small coil."""
