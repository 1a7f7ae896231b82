"""The coil once it has settled under its drive: temperature, hot resistance, current and power."""

from collections.abc import Callable
from typing import TYPE_CHECKING

from coilgen.figures.electrical._copper_eddies import counts_copper_eddies
from coilgen.figures.heat import _eddies
from coilgen.figures.heat import _warmth as _heat
from coilgen.figures.heat._assembly import told
from coilgen.figures.heat._eddies import eddy_resistance
from coilgen.figures.heat._limits import marks, outlasts
from coilgen.figures.heat._made import EXPECTED, Made
from coilgen.figures.heat._mounted import stuck_magnet
from coilgen.figures.heat._spreads import lasting, settles, spread, temperature
from coilgen.figures.in_place._losses import makes_heat
from coilgen.figures.several import warmth as several
from coilgen.result.caution import WARNING
from coilgen.result.figure import Answer, Case, Quantity, spread_answer
from coilgen.result.spread import Spread

if TYPE_CHECKING:
    from coilgen.physics.heat.steady import Steady

_COUNTED = (
    "rings of copper and laminate, which heat leaves as easily as the winding's edges are long, with what is "
    "mounted on them, convection in still air (or as told) and radiation; copper's resistance follows its "
    "temperature"
)


def _drive(case: Case) -> str:
    """How the drive counts."""
    drive = case.design.drive
    if _heat.swings(case):
        return f"the drive's own periods, once they repeat: the peak{_heat.moment(case)}"
    if drive.waveform == "square":
        eddies = ", with eddy currents in the copper" if counts_copper_eddies(case) else ""
        return f"mean power at a duty of {drive.duty:g} of the current as it rises and runs out{eddies}"
    if drive.waveform == "sine":
        return "root mean square, with the heat of eddy currents in the copper"
    return "direct current"


def _temperature(case: Case) -> Answer | None:
    if case.windings:
        return several.temperature(case)
    if _heat.at_hottest(case) is None:
        return None
    metal = "; eddy currents heat the metal at the coil" if makes_heat(case) else ""
    model = f"{_where(case)}settled: {_COUNTED}{metal}{told(case)}; {_drive(case)}"
    return lasting(case, temperature(case), model)


def _where(case: Case) -> str:
    """Which copper is the hottest, where leads count by themselves."""
    state = _heat.at_hottest(case)
    found = None if state is None else _heat.leads_and_winding(case, state)
    if found is None:
        return ""
    return f"of the {'leads' if found[0] > found[1] else 'winding'}, the hottest; "


def _mean_temperature(case: Case) -> Answer | None:
    """Of a drive with a period."""
    if case.design.drive.frequency is None or _heat.at_hottest(case) is None:
        return None
    within = "between its peaks" if _heat.swings(case) else "as the periods are too short for it to swing"
    return lasting(
        case,
        spread(case, lambda made: _heat.mean_peak(case, made)),
        f"of temperature's model, mean over a period, {within}",
    )


def _banded(case: Case, of: "Callable[[Steady], float]") -> Spread:
    """What is read from the settled coil at its hottest; without a band where it may not settle."""

    def at(made: Made) -> float:
        state = _settled(case, made)
        return of(state)

    return spread(case, at) if settles(case) else Spread(at(EXPECTED))


def _settled(case: Case, made: Made) -> "Steady":
    from coilgen.physics.heat.steady import Steady

    state = _heat.hottest(case, made)
    assert isinstance(state, Steady)
    return state


def _resistance(case: Case) -> Answer | None:
    if _heat.at_hottest(case) is None:
        return None
    return spread_answer(
        _banded(case, lambda state: state.resistance),
        f"resistance at 20 degC brought to each turn's settled temperature{_heat.moment(case)}; {_heat.BAND}",
    )


def _current(case: Case) -> Answer | None:
    state = _heat.at_hottest(case)
    if state is None:
        return None
    if case.design.drive.current is not None:
        return Answer(value=_flows(case, state), model="as the design file gives it")
    sine = case.design.drive.waveform == "sine"
    reactance = " with the winding's reactance and what metal near it adds" if sine else ""
    held = case.design.drive.gives_in(state.resistance)
    through = "held by the supply at its limit" if held else f"voltage over the hot resistance{reactance}"
    mean = f"root mean square: {through}" if sine else through
    flows = spread(case, lambda made: _flows(case, _settled(case, made), made)) if settles(case) else None
    return spread_answer(
        flows or Spread(_flows(case, state)),
        f"{mean}{_heat.moment(case)}; {_heat.BAND}",
    )


def _flows(case: Case, state: "Steady", made: Made = EXPECTED) -> float:
    """Current while the drive is on, A; of a sine its root mean square, with the copper at its hottest.

    A slow sine's state is that of an instant, with what flows then.
    """
    if case.design.drive.waveform == "sine" and _heat.swings(case):
        return float(_heat.level(case, made=made).through(state.resistance))
    return state.current


def _power(case: Case) -> Answer | None:
    if _heat.at_hottest(case) is None:
        return None

    def power(made: Made) -> float:
        state = _settled(case, made)
        return _flows(case, state, made) ** 2 * (state.resistance + eddy_resistance(case, made))

    sources = [
        *(["copper"] if counts_copper_eddies(case) else []),
        *(["metal at the coil"] if makes_heat(case) else []),
    ]
    near = f", with the heat of eddy currents in {' and '.join(sources)}" if sources else ""
    mean = "mean: " if case.design.drive.waveform == "sine" else ""
    return spread_answer(
        spread(case, power) if settles(case) else Spread(power(EXPECTED)),
        f"{mean}hot current squared times hot resistance{near}{_heat.moment(case)}; {_heat.BAND}",
    )


def _bodies(case: Case) -> Answer | None:
    state = _heat.at_hottest(case)
    if state is None:
        return None
    return Answer(
        value=[_body_row(case, body, value) for body, value in bodies(case).items()],
        model=f"of temperature's state{_heat.moment(case)}; bodies by their mean, weighted by heat capacity"
        f"{_loose(case)}; {_heat.BAND}",
        cautions=_hotter(case),
    )


def _loose(case: Case) -> str:
    alone = _eddies.loose_temperatures(case, 0.0)
    return "".join(
        f"; {name} alone in the air, by its own eddy currents, at the high end as warm as the board besides"
        for name in alone
    )


def _body_row(case: Case, body: str, value: float) -> dict[str, str | float | None]:
    if not (settles(case) and outlasts(case, value)):
        return {"body": body, "temperature": value, "low": None, "high": None}
    low, high = _band(case, body)
    if body in _eddies.loose_temperatures(case, 0.0):
        high += max(0.0, _band(case, "board")[1] - case.design.drive.ambient)
    return {"body": body, "temperature": value, "low": low, "high": high}


def _band(case: Case, body: str) -> tuple[float, float]:
    return spread(case, lambda made: bodies(case, made)[body]).band


def bodies(case: Case, made: Made = EXPECTED) -> dict[str, float]:
    """Temperature of copper, board and what stands at the coil, degC, by name."""
    state = _settled(case, made)
    return {
        "hottest copper": state.coil_peak,
        "copper, mean": state.coil_mean,
        **_each_copper(case, state, made),
        **{_body(case, part): value for part, value in state.part_mean.items() if part != "leads"},
        **_eddies.loose_temperatures(case, state.current, made),
    }


def _each_copper(case: Case, state: "Steady", made: Made) -> dict[str, float]:
    """The hottest of leads and of winding, where leads count by themselves."""
    found = _heat.leads_and_winding(case, state, made)
    names = ("hottest copper of the leads", "hottest copper of the winding")
    return {} if found is None else dict(zip(names, found, strict=True))


def _hotter(case: Case) -> tuple[str, ...]:
    """Metal that its eddy currents make hotter than the copper, hot enough to burn."""
    name, hottest = max(bodies(case).items(), key=lambda each: each[1])
    burns = min(float(row["temperature"]) for _, row in marks("touch"))
    if name == "hottest copper" or hottest < burns:
        return ()
    return (
        f"{WARNING}Hot to touch: eddy currents heat {name} to {hottest:.0f} °C, more than the copper, which "
        "alone is held against the limits of temperature.",
    )


def _body(case: Case, part: str) -> str:
    base = case.design.mounting.base_plate
    if part == "core":
        return "core in the pocket"
    if part == "board":
        return part
    if part == "strip":
        return "tail" if case.coil.tail else "board round the leads"
    if base is not None and base.place == part:
        return "base plate"
    return "magnet" if stuck_magnet(case, part) is not None else f"core on the {part}"


FIGURES = (
    Quantity(
        name="temperature",
        unit="degC",
        says="hottest copper once the drive has settled, peaks within its period included",
        group="heat",
        compute=_temperature,
        of="board",
    ),
    Quantity(
        name="mean_temperature",
        unit="degC",
        says="hottest copper once the drive has settled, mean over its period",
        group="heat",
        compute=_mean_temperature,
    ),
    Quantity(
        name="hot_resistance",
        unit="ohm",
        says="resistance between the terminals once the coil has settled",
        group="heat",
        compute=_resistance,
    ),
    Quantity(
        name="hot_current",
        unit="A",
        says="current while the drive is on, once the coil has settled",
        group="heat",
        compute=_current,
    ),
    Quantity(
        name="hot_power",
        unit="W",
        says="power while the drive is on, once the coil has settled",
        group="heat",
        compute=_power,
    ),
    Quantity(
        name="body_temperatures",
        unit="table(body, temperature degC, low degC, high degC)",
        says="temperatures of copper, board and what is mounted on it",
        group="heat",
        compute=_bodies,
    ),
)
