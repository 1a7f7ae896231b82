"""A coil as it may be made, mounted and driven, for the bands of heat."""

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from coilgen.figures.heat._assembly import End, assembly
from coilgen.result.figure import Case

if TYPE_CHECKING:
    from coilgen.physics.heat.network import Network


@dataclass(frozen=True, kw_only=True)
class Made:
    """What differs from the expected: ends of convection and joints; copper's resistance and the supply's
    voltage as shares of the expected ones; the air warmer by so much, K.
    """

    air: End = "typical"
    joints: End = "typical"
    copper: float = 1.0
    voltage: float = 1.0
    warmer: float = 0.0


EXPECTED = Made()


def network_of(case: Case, made: Made) -> "Network":
    """The design's network of heat; the copper's tolerance changes what it makes, not what it conducts."""
    undriven = replace(made, voltage=1.0)
    return case.once(f"heat network {undriven}", lambda: _network(case, undriven))


def _network(case: Case, made: Made) -> "Network":
    from coilgen.physics.heat.network import network

    if (made.copper, made.warmer) == (1.0, 0.0):
        return network(assembly(case, made.joints, made.air))
    usual = network_of(case, replace(made, copper=1.0, warmer=0.0))
    return replace(
        usual, resistance_20c=usual.resistance_20c * made.copper, ambient=usual.ambient + made.warmer
    )
