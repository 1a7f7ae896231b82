"""The places where a rule is broken: the worst of them, near ones told once."""

from collections.abc import Callable, Iterable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.geometry.point import Point
from coilgen.result.rule import Finding
from coilgen.units import measured_mm

TOLERANCE = 1e-9
"""A length nearer to its limit than this is at the limit, m: art is written in whole nanometres."""


def shorted(gap: float) -> str | None:
    """In words that copper of two pieces meets; None of a gap, m, that is one.

    >>> shorted(-0.000646), shorted(1e-18), shorted(1e-6)
    ('overlap by 0.646 mm, a short', 'touch, a short', None)
    """
    if gap >= TOLERANCE:
        return None
    return "touch, a short" if gap > -TOLERANCE else f"overlap by {measured_mm(-gap)}, a short"


MOST = 20
"""Findings of one rule; more places of one kind tell a designer nothing new."""

MERGED = 1e-3
"""Places of one layer nearer to each other than this are told once, m."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Places:
    """n places where something was measured.

    value (n,): m. layer (n,): 1 = top, 0 for none. at (n,): m. kind (n,): whatever a rule tells apart.
    """

    value: NDArray[np.float64]
    layer: NDArray[np.intp]
    at: NDArray[np.complex128]
    kind: NDArray[np.intp]

    def __len__(self) -> int:
        return len(self.value)


@dataclass(frozen=True, kw_only=True)
class Place:
    """One place; its fields are those of Places."""

    value: float
    at: Point
    layer: int = 0
    kind: int = 0


def all_of(found: Iterable[Places]) -> Places:
    """Places of several searches together."""
    each = [*found, places(())]
    return Places(
        value=np.concatenate([one.value for one in each]),
        layer=np.concatenate([one.layer for one in each]),
        at=np.concatenate([one.at for one in each]),
        kind=np.concatenate([one.kind for one in each]),
    )


def places(found: Iterable[Place]) -> Places:
    """Single places as arrays."""
    rows = list(found)
    return Places(
        value=np.array([row.value for row in rows], float),
        layer=np.array([row.layer for row in rows], np.intp),
        at=np.array([row.at for row in rows], complex),
        kind=np.array([row.kind for row in rows], np.intp),
    )


def short_lengths(
    rule: str, limit: float, found: Places, says: Callable[[Place], str]
) -> tuple[Finding, ...]:
    """Findings for lengths under a limit, m: the worst place of each layer, then others, the worst first."""
    order = np.argsort(found.value, kind="stable")
    order = order[found.value[order] < limit - TOLERANCE]
    # Alike ones side by side: by layers where they are as short as one another.
    kept = sorted(map(_exact, _kept(found, order)), key=lambda place: (round(place.value, 9), place.layer))
    findings = tuple(
        Finding(
            rule=rule,
            value=place.value,
            limit=limit,
            unit="m",
            layer=place.layer or None,
            at=place.at,
            says=says(place),
        )
        for place in kept
    )
    if len(order) <= len(findings):
        return findings
    first = replace(findings[0], says=f"{findings[0].says} The worst of {len(order)} places.")
    return (first, *findings[1:])


def _exact(place: Place) -> Place:
    """What touches is at zero: rounding would have it reach over by nothing."""
    return replace(place, value=0.0) if abs(place.value) < TOLERANCE else place


def _kept(found: Places, order: NDArray[np.intp]) -> list[Place]:
    """The worst of every layer, then the worst of the rest that are not near to one already kept."""
    layers = found.layer[order]
    worst = order[sorted(np.unique(layers, return_index=True)[1])] if len(order) else order
    kept = [int(place) for place in worst[:MOST]]
    for chosen in kept:
        order = _apart(found, order, chosen)
    while len(order) and len(kept) < MOST:
        chosen = int(order[0])
        kept.append(chosen)
        order = _apart(found, order, chosen)
    return [
        Place(
            value=float(found.value[k]),
            at=complex(found.at[k]),
            layer=int(found.layer[k]),
            kind=int(found.kind[k]),
        )
        for k in kept
    ]


def _apart(found: Places, order: NDArray[np.intp], chosen: int) -> NDArray[np.intp]:
    near = np.abs(found.at[order] - found.at[chosen]) <= MERGED
    same = near & (found.layer[order] == found.layer[chosen])
    return order[np.flatnonzero(~same)]
