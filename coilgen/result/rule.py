"""What a rule is: a name, the limit it reads, and a check of the art that returns findings."""

from collections.abc import Callable, Iterable

from coilgen.artwork.art import Art
from coilgen.design.design import Design
from coilgen.frozen import dataclass
from coilgen.geometry.point import Point
from coilgen.layout.coil import Coil
from coilgen.units import measured_mm


@dataclass(frozen=True, kw_only=True)
class Finding:
    """One place where a rule is broken. A finding is a result, not an exception.

    value and limit in SI (`unit` names it: "m", "1", "V"); layer counts from 1 (None: no single layer);
    at: the place, m; says: one sentence with what to change.
    """

    rule: str
    value: float
    limit: float
    unit: str
    layer: int | None
    at: Point | None
    says: str

    @property
    def amounts(self) -> tuple[str, str]:
        """Value and limit as people read them."""
        return self._amount(self.value, self.limit), self._amount(self.limit, 0.0)

    @property
    def place(self) -> str:
        """x and y in mm as people read them; empty without a place.

        >>> at = -1e-9 + 7.62e-3j
        >>> Finding(rule="trace_width", value=1e-4, limit=2e-4, unit="m", layer=1, at=at, says="").place
        '0.000, 7.620'
        """
        return "" if self.at is None else place_in_mm(self.at)

    def _amount(self, value: float, limit: float) -> str:
        if self.unit == "m":
            return measured_mm(value, limit)
        return f"{value:.6g}" if self.unit == "1" else f"{value:.6g} {self.unit}"


def place_in_mm(at: Point) -> str:
    """x and y, m, in mm as people read them, without a minus before zero."""
    return f"{at.real * 1e3:z.3f}, {at.imag * 1e3:z.3f}"


@dataclass(frozen=True, kw_only=True)
class Rule:
    """A check every design passes through. `check` yields findings, worst place of each kind first."""

    name: str
    says: str
    unit: str
    check: Callable[[Design, Coil, Art], Iterable[Finding]]
