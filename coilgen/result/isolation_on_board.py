"""What an isolation voltage between windings does and does not do for the board."""

from collections.abc import Iterator

from coilgen.design.design import Design
from coilgen.result.caution import WARNING


def isolation_told(design: Design) -> Iterator[str]:
    """What to know where an isolation voltage is asked for."""
    voltage = design.rules.isolation_voltage
    if voltage is None:
        return
    if not design.windings:
        yield "rules.isolation_voltage has no effect on a board of one winding."
        return
    yield (
        f"{WARNING}The distances for {voltage:g} V between windings are those of basic insulation on the "
        "board alone; ways round its edges, through holes and over cores are not measured. Isolation that "
        "people's safety depends on is for licensed practice, its tests and local codes."
    )
