"""How a board of several windings may be made and mounted otherwise than expected."""

from coilgen.figures.heat._ends import End
from coilgen.frozen import dataclass
from coilgen.result.figure import Case


@dataclass(frozen=True, kw_only=True)
class Made:
    """What differs from the expected: ends of convection and joints; copper's resistance by winding and the
    supplies' voltage as shares of the expected ones; the air warmer by so much, K. tail: resistance of the
    leads in it over that at 20 degC. coarse: on cells twice as large, from which changes are told.
    evenly: with the heat of what joins an array's coils in these. eddies: what eddy currents in copper add as
    a share of the expected. step: 1 where sines of one frequency have their crests at once, -1 where one
    has its crest at the other's trough. cold: with what eddy currents add at cold resistances.
    """

    air: End = "typical"
    joints: End = "typical"
    copper: tuple[float, ...] = ()
    voltage: float = 1.0
    warmer: float = 0.0
    tail: float = 1.0
    coarse: bool = False
    evenly: bool = False
    eddies: float = 1.0
    step: float = 1.0
    cold: bool = False

    def copper_of(self, case: Case) -> tuple[float, ...]:
        """For each winding."""
        return self.copper or (1.0,) * len(case.windings)


EXPECTED = Made()
