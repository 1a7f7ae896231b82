"""Area that the current encloses, summed over the turns, and the magnetic moment it makes."""

from coilgen.geometry.point import cross
from coilgen.result.figure import Answer, Case, Quantity, spread_answer
from coilgen.result.spread import carried


def _turn_area(case: Case) -> Answer:
    """Line integral of r x dr / 2 along the current, closed straight from terminal 2 to terminal 1."""
    first, second = case.coil.terminals
    closing = cross(second.at, first.at) / 2
    swept = zip(case.shares, case.passed.traces, strict=True)
    area = sum(share * trace.path.swept_area for share, trace in swept) + closing
    return Answer(
        value=area,
        model="exact over lines and arcs, closed between the terminals; positive when counter-clockwise",
    )


def _moment(case: Case) -> Answer:
    area = case.value("turn_area")
    moment = carried(lambda amperes: amperes * area, case.spread("current"))
    return spread_answer(moment, "turn area times current; positive up, out of the top")


FIGURES = (
    Quantity(
        name="turn_area",
        unit="m2",
        says="sum of the turns' areas",
        group="field",
        compute=_turn_area,
        of="each",
    ),
    Quantity(
        name="moment",
        unit="A m2",
        says="magnetic dipole moment",
        group="field",
        compute=_moment,
        of="each",
    ),
)
