"""What a reading should be of boards that are made just so, at the conditions of the reading."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

import numpy as np

from coilgen.design.as_made import exactly
from coilgen.errors import DesignError
from coilgen.figures.electrical._copper_eddies import resistance_rise
from coilgen.frozen import dataclass
from coilgen.study.evaluator import Evaluator

if TYPE_CHECKING:
    from coilgen.design.design import Design
    from coilgen.result.figure import Case, Figure
    from coilgen.study.bench.reading import Conditions, Reading

NORMAL = 1.96
"""Standard deviations to either side that hold 95 %, of a normal distribution."""
SLOW = 1e-2
"""Of the self-resonance: below it a meter reads the winding's capacitance as less than a ten-thousandth."""


@dataclass(frozen=True)
class Forecast:
    """Expected value, SI, and the model's own error as one standard deviation."""

    value: float
    model: float = 0.0


class Forecaster:
    """Forecasts readings of designs; remembers what they have in common. Not for several threads."""

    def __init__(self) -> None:
        self._evaluator = Evaluator(())
        self._known: dict[tuple[Any, ...], Forecast] = {}
        self._designs: list[Design] = []
        self._resonances: dict[int, float] = {}
        self._fast = False

    def of(self, design: Design, reading: Reading, made: Mapping[str, float], gap: float = 0.0) -> Forecast:
        """Of a reading of a board of the design. made: causes, SI; gap: by so much wider than asked, m.

        DesignError where the design has no such figure.
        """
        key = (id(design), reading.figure, reading.at, tuple(made.items()), gap)
        if key not in self._known:
            self._designs.append(design)  # kept alive, so that its id stays its own
            self._known[key] = self._computed(design, reading, made, gap)
        return self._known[key]

    def _computed(self, design: Design, reading: Reading, made: Mapping[str, float], gap: float) -> Forecast:
        asked = with_gap(at_conditions(design, reading), gap)
        case = self._evaluator.case(exactly(asked, made))
        if reading.at.frequency is not None:
            self._fast = reading.at.frequency > SLOW * self._resonance(design)
        return _FORECASTS[reading.figure](case, reading.at, self)

    def _resonance(self, design: Design) -> float:
        """Of a design as asked, Hz; inf where it has none."""
        if id(design) not in self._resonances:
            found = self.case(design).figure("self_resonance")
            self._resonances[id(design)] = math.inf if found is None else float(found.value)
        return self._resonances[id(design)]

    def case(self, design: Design) -> Case:
        """Values of a design as asked."""
        return self._evaluator.case(design)

    def capacitance(self, case: Case) -> float:
        """Of the winding, F, where the meter of the reading sees it; 0 where it is too slow to."""
        found = case.figure("winding_capacitance") if self._fast else None
        return 0.0 if found is None else float(found.value)


def at_conditions(design: Design, reading: Reading) -> Design:
    """The design driven, probed and placed as the reading tells."""
    at = reading.at
    drive: dict[str, object] = {}
    if at.current is not None:
        drive = {"current": at.current, "voltage": None, "current_limit": None}
    if at.voltage is not None:
        drive = {"voltage": at.voltage, "current": None, "current_limit": None}
    if reading.figure in ("flux_density", "force", "pull"):
        drive |= {"waveform": "dc", "frequency": None, "duty": None}
    if reading.figure == "temperature" and at.temperature is not None:
        drive |= {"ambient": at.temperature}
    asked = design.unchecked(drive=design.drive.unchecked(**drive)) if drive else design
    if at.height is not None:
        asked = asked.unchecked(probe=asked.probe.unchecked(heights=(at.height,)))
    return asked if at.gap is None else _placed(asked, at.gap)


def moving(design: Design) -> str | None:
    """The body whose gap a bench sets: the magnet, else the target, else the first core on a face."""
    if design.magnet is not None:
        return "magnet"
    if design.target is not None:
        return "target"
    return "core" if any(core.place != "pocket" for core in design.core) else None


def _placed(design: Design, gap: float) -> Design:
    return _moved(design, lambda _: gap)


def with_gap(design: Design, wider: float) -> Design:
    """The body that a bench sets, by so much farther than it was told, m."""
    return _moved(design, lambda gap: max(gap + wider, 0.0)) if wider else design


def _moved(design: Design, change: Callable[[float], float]) -> Design:
    name = moving(design)
    if name is None:
        raise DesignError.at("gap", "told of a design that has neither magnet, target nor core; leave it out")
    if name != "core":
        body = getattr(design, name)
        return design.unchecked(**{name: body.unchecked(gap=change(body.gap))})
    first = next(number for number, core in enumerate(design.core) if core.place != "pocket")
    cores = [
        core.unchecked(gap=change(core.gap or 0.0)) if number == first else core
        for number, core in enumerate(design.core)
    ]
    return design.unchecked(core=tuple(cores))


def _figure(case: Case, name: str, reading: str) -> Figure:
    found = case.figure(name)
    if found is None:
        says = (
            f"the design has no figure {name} at these conditions, which a reading of {reading} is held "
            "against; mend the conditions, or leave the reading out"
        )
        raise DesignError.at(reading, says)
    return found


def half(low: float, high: float) -> float:
    """Standard deviation of what lies between these limits with 95 %."""
    return abs(high - low) / 2 / NORMAL


def _single(name: str, reading: str) -> Callable[[Case, Conditions, Forecaster], Forecast]:
    def forecast(case: Case, at: Conditions, by: Forecaster) -> Forecast:
        found = _figure(case, name, reading)
        return Forecast(float(found.value), half(*found.band) if found.band else 0.0)

    return forecast


def warmer(design: Design, at: Conditions) -> float:
    """Of copper at the reading, over that at 20 degC."""
    if at.temperature is None:
        return 1.0
    return 1 + float(design.board.stackup.metal.temperature_coefficient) * (at.temperature - 20.0)


def _resistance(case: Case, at: Conditions, by: Forecaster) -> Forecast:
    if at.frequency is None:
        return Forecast(float(case.value("resistance_20c")) * warmer(case.design, at))
    return _metered(case, at, by)[0]


def _inductance(case: Case, at: Conditions, by: Forecaster) -> Forecast:
    return _metered(case, at, by)[1]


def _quality(case: Case, at: Conditions, by: Forecaster) -> Forecast:
    assert at.frequency is not None
    resistance, inductance = _metered(case, at, by)
    value = 2 * math.pi * at.frequency * inductance.value / resistance.value
    share = math.hypot(resistance.model / resistance.value, inductance.model / inductance.value)
    return Forecast(value, value * share)


def _metered(case: Case, at: Conditions, by: Forecaster) -> tuple[Forecast, Forecast]:
    """Resistance and inductance in series mode at the meter's frequency, with what stands at the coil."""
    assert at.frequency is not None
    design = case.design
    metal = design.core or design.target or design.magnet or design.mounting.base_plate
    in_place = case.figure("impedance_in_place") if metal else None
    table = in_place or _figure(case, "impedance", "inductance")
    rows, f, direct = table.value, at.frequency, float(case.value("resistance_20c"))
    if not rows or f > rows[-1]["frequency"]:
        top = f"{rows[-1]['frequency']:g} Hz" if rows else "any frequency"
        raise DesignError.at("frequency", f"{f:g} Hz is over {top}, up to which the impedance is known")
    hot = warmer(design, at)
    resistance = direct * hot + direct * resistance_rise(rows, direct, f) / hot
    inductance = _between(rows, f, "inductance")
    capacitance, omega = by.capacitance(case), 2 * math.pi * f
    series = complex(resistance, omega * inductance)
    read = series / (1 + 1j * omega * capacitance * series)
    ends = [
        [_between(rows, f, f"{what}_{end}") for end in ("low", "high")]
        for what in ("resistance", "inductance")
    ]
    return Forecast(read.real, half(*ends[0])), Forecast(read.imag / omega, half(*ends[1]))


def _between(rows: list[dict[str, float]], frequency: float, column: str) -> float:
    """Of a table of impedances, on a scale of decades; as at the first frequency below it."""
    decades = np.log([row["frequency"] for row in rows])
    return float(np.interp(math.log(frequency), decades, [row[column] for row in rows]))


def _flux_density(case: Case, at: Conditions, by: Forecaster) -> Forecast:
    table = case.figure("core_flux_density") or _figure(case, "flux_density", "flux_density")
    row = next(each for each in table.value if each["side"] == (at.side or "top"))
    return Forecast(float(row["flux_density"]), 0.0)


def _force(case: Case, at: Conditions, by: Forecaster) -> Forecast:
    return _single("force_on_magnet", "force")(case, at, by)


def _temperature(case: Case, at: Conditions, by: Forecaster) -> Forecast:
    if at.time is None:
        return _single("temperature", "temperature")(case, at, by)
    rows = _figure(case, "temperature_against_time", "temperature").value
    settled = float(_figure(case, "temperature", "temperature").value)
    times = [*(row["time"] for row in rows), 2 * rows[-1]["time"]]  # the table ends shortly before
    warm = [*(row["temperature"] for row in rows), settled]
    return Forecast(float(np.interp(at.time, times, warm)))


_FORECASTS: Mapping[str, Callable[[Any, Any, Forecaster], Forecast]] = {
    "resistance": _resistance,
    "inductance": _inductance,
    "quality": _quality,
    "capacitance": _single("winding_capacitance", "capacitance"),
    "self_resonance": _single("self_resonance", "self_resonance"),
    "flux_density": _flux_density,
    "force": _force,
    "pull": _single("pull_on_target", "pull"),
    "temperature": _temperature,
}
