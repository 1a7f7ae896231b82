"""A board of several windings once it has settled: how hot each winding gets beside the others."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from coilgen.catalogue import rows
from coilgen.figures.heat._assembly import End
from coilgen.figures.heat._limits import marks, material_marks
from coilgen.figures.several._plate import plate
from coilgen.result.figure import WARNING, Answer, Case, Quantity
from coilgen.result.spread import Spread

if TYPE_CHECKING:
    from coilgen.physics.heat.body import Supply
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


def ceiling() -> float:
    """Temperature over which no steady state counts: copper melts, degC."""
    return float(str(rows("temperature_limits")["copper"]["temperature"]))


def _circuits(case: Case, voltage: float) -> "tuple[Circuit, ...]":
    from coilgen.physics.heat.plate.body import Circuit

    return tuple(
        Circuit(supply=_supply(each.case, voltage), windings=(number,))
        for number, each in enumerate(case.windings)
    )


def _supply(case: Case, voltage: float) -> "Supply":
    """A winding's own drive; currents that another winding induces are left out."""
    from coilgen.figures.heat._warmth import supply

    found = supply(case)
    return found if found.voltage is None else replace(found, voltage=found.voltage * voltage)


def temperature(case: Case) -> Answer | None:
    """Hottest copper of all windings."""
    if not _steady(case):
        return None
    found = _spread(case, _hottest)
    low, high = found.band
    return Answer(
        value=found.value,
        model=f"{MODEL}; {BAND}",
        band=(low, min(high, ceiling())),
        spread=found,
    )


def _steady(case: Case) -> bool:
    from coilgen.physics.heat.plate.steady import PlateSteady

    return isinstance(state(case), PlateSteady)


def _hottest(found: "PlateSteady | PlateRunaway") -> float:
    from coilgen.physics.heat.plate.steady import PlateSteady

    return float(found.hottest.max()) if isinstance(found, PlateSteady) else ceiling()


def _of_winding(number: int) -> "Callable[[PlateSteady | PlateRunaway], float]":
    from coilgen.physics.heat.plate.steady import PlateSteady

    def hottest(found: "PlateSteady | PlateRunaway") -> float:
        return float(found.hottest[number]) if isinstance(found, PlateSteady) else ceiling()

    return hottest


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
        spread = _spread(case, _of_winding(number))
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
    (_, high), middle = found.band, found.value
    low = found.band[0]
    hottest = max(enumerate(case.windings), key=lambda each: _of_winding(each[0])(state(case)))[1].name
    end = f"{high:.0f} °C" if high < ceiling() else "burning out"
    told = f"the copper of {hottest} reaches {middle:.0f} °C ({low:.0f} to {end} by the model's band)"
    hot = False
    for danger, rising in (
        ("Hot to touch", marks("touch")),
        ("Too hot for this board", material_marks(case)),
        ("Danger of fire", marks("fire")),
    ):
        for caution in _passed([row for _, row in rising], danger, told, middle, high):
            hot = True
            yield caution
    if hot:
        yield (
            "Temperatures are estimates: measure the first sample with a current-limited supply and a "
            "thermocouple; shiny copper misleads an infrared thermometer."
        )
        yield (
            "Where a coil gets hot near people or things that burn, local codes and licensed practice come "
            "first."
        )


def _passed(rising: list[Any], danger: str, told: str, middle: float, high: float) -> Iterator[str]:
    """The highest mark that is passed, and the highest that may be."""
    reached = [row for row in rising if row["temperature"] <= high]
    passed = [row for row in reached if row["temperature"] <= middle]
    for rows_, word in ((passed, f"{WARNING}{danger}"), (reached[len(passed) :], f"{danger}, perhaps")):
        for row in rows_[-1:]:
            says = str(row["says"]).replace("degC", "°C")
            yield f"{word}: {told}. At {row['temperature']:g} °C: {says}."


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
        yield (
            "The board is so small or so large that the formulas of convection are used outside their range: "
            "temperatures may lie outside their band."
        )


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
