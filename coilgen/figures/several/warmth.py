"""A board of several windings once it has settled: how hot each winding gets beside the others."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

from coilgen.figures.heat._assembly import End
from coilgen.figures.heat._cautions import CARE, OUT_OF_RANGE, Peak, marks_passed
from coilgen.figures.heat._made import Made as OneMade
from coilgen.figures.heat._warmth import ceiling, supply
from coilgen.figures.several._plate import plate
from coilgen.result.figure import WARNING, Answer, Case, Quantity
from coilgen.result.spread import Spread

if TYPE_CHECKING:
    from coilgen.physics.heat.plate.body import Circuit
    from coilgen.physics.heat.plate.steady import PlateRunaway, PlateSteady

MODEL = (
    "settled under the mean power of all drives: a plate on a grid with the heat of every winding where it "
    "lies, convection in still air (or as told) and radiation; copper's resistance follows its temperature"
)
BAND = "the band is that of convection, of the joints, of the copper's resistance and of the drives"
_SLOW = 0.05
"""s, of a square wave's period, from which on the copper swings about the mean that is told."""


@dataclass(frozen=True, kw_only=True)
class Made:
    """What differs from the expected: ends of convection and joints; copper's resistance by winding and the
    supplies' voltage as shares of the expected ones; the air warmer by so much, K."""

    air: End = "typical"
    joints: End = "typical"
    copper: tuple[float, ...] = ()
    voltage: float = 1.0
    warmer: float = 0.0


EXPECTED = Made()


def state(case: Case, made: Made = EXPECTED) -> "PlateSteady | PlateRunaway":
    """The settled board, or where it runs away, as expected or as made and mounted otherwise."""
    return case.once(f"heat of several {made}", lambda: _state(case, made))


def _state(case: Case, made: Made) -> "PlateSteady | PlateRunaway":
    from coilgen.physics.heat.plate.network import plate_network
    from coilgen.physics.heat.plate.steady import plate_steady_state

    usual = case.once(
        f"plate network {made.air} {made.joints}",
        lambda: plate_network(plate(case, made.joints, made.air)),
    )
    net = replace(usual, ambient=usual.ambient + made.warmer)
    if made.copper:
        from scipy.sparse import diags

        net = replace(net, resistance_20c=(diags(made.copper) @ net.resistance_20c).tocsr())
    return plate_steady_state(net, _circuits(case, made.voltage), ceiling())


def _circuits(case: Case, voltage: float) -> "tuple[Circuit, ...]":
    """Each winding's own drive; currents that another winding induces are left out."""
    from coilgen.physics.heat.plate.body import Circuit

    return tuple(
        Circuit(supply=supply(each.case, made=OneMade(voltage=voltage)), windings=(number,))
        for number, each in enumerate(case.windings)
    )


def temperature(case: Case) -> Answer | None:
    """Hottest copper of all windings."""
    from coilgen.physics.heat.plate.steady import PlateSteady

    if not isinstance(state(case), PlateSteady):
        return None
    found = _spread(case, _hottest)
    low, high = found.band
    return Answer(
        value=found.value,
        model=f"{MODEL}; {BAND}",
        band=(low, min(high, ceiling())),
        spread=found,
    )


def _hottest(found: "PlateSteady | PlateRunaway", number: int | None = None) -> float:
    """Of all windings or of one, degC; the ceiling where the board does not settle."""
    from coilgen.physics.heat.plate.steady import PlateSteady

    if not isinstance(found, PlateSteady):
        return ceiling()
    return float(found.hottest.max() if number is None else found.hottest[number])


def _spread(case: Case, of: "Callable[[PlateSteady | PlateRunaway], float]") -> Spread:
    value = of(state(case))
    shifts = {
        source: (of(state(case, low)) - value, of(state(case, high)) - value)
        for source, low, high in _sources(case)
    }
    return Spread(value, shifts)


def _sources(case: Case) -> Iterator[tuple[str, Made, Made]]:
    """Those of the band, each with the board at its low and at its high end."""
    tolerance = case.design.tolerance
    yield "convection", Made(air="hot"), Made(air="cool")
    if plate(case).bodies or plate(case).cores:
        yield "joints", Made(joints="cool"), Made(joints="hot")
    ends = [
        tuple(end / spread.value for end in spread.band)
        for spread in (each.case.spread("resistance_20c") for each in case.windings)
    ]
    yield (
        "copper's resistance",
        Made(copper=tuple(low for low, _ in ends)),
        Made(copper=tuple(high for _, high in ends)),
    )
    if tolerance.voltage and any(each.case.design.drive.voltage is not None for each in case.windings):
        yield "voltage", Made(voltage=1 - tolerance.voltage), Made(voltage=1 + tolerance.voltage)
    if tolerance.ambient:
        yield "ambient", Made(warmer=-tolerance.ambient), Made(warmer=tolerance.ambient)


def _windings(case: Case) -> Answer:
    """Every winding at its temperature; where it does not settle, what tells so."""
    from coilgen.physics.heat.plate.steady import PlateSteady

    found = state(case)
    if not isinstance(found, PlateSteady):
        return Answer(value=[], model=MODEL, cautions=_burns(case, found))
    table = []
    for number, each in enumerate(case.windings):
        spread = _spread(case, partial(_hottest, number=number))
        low, high = spread.band
        table.append(
            {
                "winding": each.name,
                "temperature": spread.value,
                "low": low,
                "high": min(high, ceiling()),
                "resistance": float(found.resistance[number]),
                "current": float(found.current[number]),
                "power": float(found.power[number]),
            }
        )
    return Answer(
        value=table,
        model=f"hottest copper of each winding, {MODEL}; power is the mean; {BAND}",
        cautions=(*_marked(case), *_swings(case), *_left_out(found)),
    )


def _burns(case: Case, found: "PlateRunaway") -> tuple[str, ...]:
    name = case.windings[found.winding].name
    return (
        f"{WARNING}No steady state: {name} heats up until it burns out, with danger of fire. This begins at "
        f"{found.factor:.3g} times all drives, at the latest; copper melts at {found.ceiling:.0f} °C.",
    )


def _marked(case: Case) -> Iterator[str]:
    """What the hottest copper passes, as expected and at the hot end of its band."""
    found = _spread(case, _hottest)
    low, high = found.band
    at, _ = max(enumerate(case.windings), key=lambda each: _hottest(state(case), each[0]))
    peak = Peak(low, found.value, high, f"the copper of {case.windings[at].name}")
    passed = [*marks_passed(case, peak)]
    yield from passed
    yield from CARE if passed else ()


def _swings(case: Case) -> Iterator[str]:
    """Slow square waves, whose peaks the mean power does not tell."""
    slow = [
        each.name
        for each in case.windings
        if (drive := each.case.design.drive).waveform == "square"
        and drive.frequency is not None
        and 1 / drive.frequency > _SLOW
    ]
    if slow:
        yield (
            f"The temperature of {' and '.join(slow)} is that of the mean power: while the drive is on, the "
            "copper gets hotter than told, the more the slower it switches."
        )


def _left_out(found: "PlateSteady") -> Iterator[str]:
    if not found.in_range:
        yield OUT_OF_RANGE


FIGURES = (
    Quantity(
        name="winding_temperatures",
        unit="table(winding, temperature degC, low degC, high degC, resistance ohm, current A, power W)",
        says="each winding once the board has settled",
        group="heat",
        compute=_windings,
        of="several",
    ),
)
