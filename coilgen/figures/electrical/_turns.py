"""What turns induce in one another, asked for by capacitance, resonance and the test for a shorted turn."""

from coilgen.physics.base.conductor import Floats
from coilgen.result.figure import Case


def inductances_of_turns(case: Case) -> Floats:
    """Self and mutual inductances (n, n) H of the winding's turns, in the sense of the current in each."""
    return case.kept(of_turns)


def of_turns(case: Case) -> Floats:
    from coilgen.physics.eddy.shorted_turn import turn_inductances
    from coilgen.physics.eddy.turns import turns

    return turn_inductances(turns(case.conductor))
