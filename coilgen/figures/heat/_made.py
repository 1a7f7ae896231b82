"""A coil as it may be made, mounted and driven, for the bands of heat."""

from dataclasses import replace
from typing import TYPE_CHECKING

from coilgen.figures.heat._assembly import assembly
from coilgen.figures.heat._ends import End
from coilgen.figures.in_place._spreads import USUAL, Facts
from coilgen.frozen import dataclass
from coilgen.result.figure import Case

if TYPE_CHECKING:
    from coilgen.physics.heat.network import Network


@dataclass(frozen=True, kw_only=True)
class Made:
    """What differs from the expected: ends of convection and joints; copper's resistance, the bare coil's
    inductance and the supply's voltage as shares of the expected ones; the air warmer by so much, K; facts of
    the metal at the coil; what eddy currents in the copper add as a share of the expected.
    """

    air: End = "typical"
    joints: End = "typical"
    copper: float = 1.0
    inductance: float = 1.0
    voltage: float = 1.0
    warmer: float = 0.0
    metal: Facts = USUAL
    eddies: float = 1.0


EXPECTED = Made()


def network_of(case: Case, made: Made) -> "Network":
    """The design's network of heat, without eddy currents.

    The copper's tolerance changes what it makes, not what it conducts.
    """
    return case.kept(_network, replace(made, voltage=1.0, inductance=1.0, metal=USUAL, eddies=1.0))


def _network(case: Case, made: Made) -> "Network":
    from coilgen.physics.heat.network import network

    if (made.copper, made.warmer) == (1.0, 0.0):
        return network(assembly(case, made.joints, made.air))
    usual = network_of(case, replace(made, copper=1.0, warmer=0.0))
    return replace(
        usual, resistance_20c=usual.resistance_20c * made.copper, ambient=usual.ambient + made.warmer
    )
