"""One reading of a sample, in SI, and the conditions it was read at."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import field, replace

from coilgen.frozen import dataclass
from coilgen.study.bench.kinds import Kind, kinds
from coilgen.units import readable

_UNITS = {
    "temperature": "degC",
    "frequency": "Hz",
    "current": "A",
    "voltage": "V",
    "height": "m",
    "gap": "m",
    "time": "s",
}


@dataclass(frozen=True, kw_only=True)
class Conditions:
    """What a reading was taken at, SI; None for what was not told, which then is as the design says.

    temperature: of the copper; of the air for a reading of temperature.
    """

    temperature: float | None = None
    frequency: float | None = None
    current: float | None = None
    voltage: float | None = None
    height: float | None = None
    side: str | None = None
    gap: float | None = None
    time: float | None = None

    @property
    def text(self) -> str:
        """As people write it."""
        numbers = [
            f"{name} {readable(float(value), unit, 4)}"
            for name, unit in _UNITS.items()
            if (value := getattr(self, name)) is not None
        ]
        return ", ".join([*numbers, *([f"on the {self.side}"] if self.side else [])])


@dataclass(frozen=True, kw_only=True)
class Reading:
    """value, and uncertainty as one standard deviation: both SI. place: where in its file it stands.

    count: how many readings it is the mean of.
    """

    sample: str
    figure: str
    value: float
    uncertainty: float
    at: Conditions = field(default_factory=Conditions)
    place: str = ""
    count: int = 1

    @property
    def kind(self) -> Kind:
        """What is read."""
        return kinds()[self.figure]

    @property
    def name(self) -> str:
        """Figure and conditions, in words."""
        return f"{self.figure} ({self.at.text})" if self.at.text else self.figure


def averaged(readings: Iterable[Reading]) -> tuple[tuple[Reading, ...], tuple[str, ...]]:
    """Readings of one sample and figure at equal conditions as their mean, and which those are, in sentences.

    The uncertainty stays that of one: what a meter reads wrong it reads wrong each time.
    """
    groups: dict[tuple[str, str, Conditions], list[Reading]] = {}
    for each in readings:
        groups.setdefault((each.sample, each.figure, each.at), []).append(each)
    means = tuple(_mean(group) for group in groups.values())
    return means, tuple(_told(each) for each in means if each.count > 1)


def _mean(group: list[Reading]) -> Reading:
    return replace(
        group[0],
        value=sum(each.value for each in group) / len(group),
        uncertainty=max(each.uncertainty for each in group),
        count=len(group),
    )


def _told(mean: Reading) -> str:
    which = f"{mean.sample}: {mean.count} readings of {mean.name}"
    return f"{which} count as their mean, with the uncertainty of one"


def samples_of(readings: Iterable[Reading]) -> Iterator[str]:
    """Each sample once, in the order of the readings."""
    yield from dict.fromkeys(each.sample for each in readings)
