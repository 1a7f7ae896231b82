"""Capacitance between the windings of a board."""

from collections.abc import Mapping, Sequence
from itertools import combinations, permutations
from typing import Any

from coilgen.artwork.copper_area import facing_area
from coilgen.physics.circuit.layered_dielectric import VACUUM_PERMITTIVITY
from coilgen.result.figure import Answer, Case, Quantity

_LEAST, _MOST = 0.7, 1.5
"""Of the capacitance told, what its edges may be off: a single trace over copper has up to half as much again
(microstrip at w = h, H. A. Wheeler, IEEE Transactions on Microwave Theory and Techniques 25, 1977)."""


def _between(case: Case) -> Answer | None:
    if len(case.windings) < 2 or case.design.array is not None:  # an array's coils lie beside one another
        return None
    names = [each.name for each in case.windings]
    rows = [_row(case, one, other) for one, other in combinations(names, 2)]
    return Answer(
        value=rows,
        model="copper of one facing copper of the other across one dielectric, edges counted by half of its "
        "thickness; copper side by side on a layer left out; the band is that of the edges, without an upper "
        "end where nothing faces",
        cautions=_beside(rows),
    )


def _row(case: Case, one: str, other: str) -> dict[str, Any]:
    value = _capacitance(case, one, other)
    return {
        "winding": one,
        "other": other,
        "capacitance": value,
        "low": _LEAST * value,
        "high": _MOST * value or None,
    }


def _beside(rows: Sequence[Mapping[str, Any]]) -> tuple[str, ...]:
    """What is left out between windings that face nowhere, which have some capacitance all the same."""
    pairs = [f"{row['winding']} and {row['other']}" for row in rows if row["high"] is None]
    if not pairs:
        return ()
    return (
        f"No copper of {', of '.join(pairs)} faces: what capacitance they have side by side, a few tenths of "
        "a picofarad where they are apart and more the nearer they are, is left out of capacitance_between, "
        "circuits and networks.",
    )


def _capacitance(case: Case, one: str, other: str) -> float:
    """F, over all dielectrics."""
    stackup = case.design.board.stackup
    total = 0.0
    for upper in range(1, stackup.layers):
        thickness, permittivity = stackup.dielectric[upper - 1], stackup.permittivity[upper - 1]
        area = sum(
            facing_area(case.art, upper, above, below, thickness / 2)
            for above, below in permutations((one, other))
        )
        total += VACUUM_PERMITTIVITY * permittivity * area / thickness
    return total


FIGURES = (
    Quantity(
        name="capacitance_between",
        unit="table(winding, other, capacitance F, low F, high F)",
        says="capacitance between each two windings",
        group="electrical",
        compute=_between,
        of="several",
    ),
)
