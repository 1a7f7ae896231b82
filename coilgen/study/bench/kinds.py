"""What can be read of a sample: its unit, the conditions it is read at, and which of them it needs."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

from coilgen.catalogue import rows
from coilgen.frozen import dataclass

CONDITIONS: Mapping[str, str] = {
    "temperature": "temperature",
    "frequency": "frequency",
    "current": "current",
    "voltage": "voltage",
    "height": "length",
    "gap": "length",
    "time": "time",
}
"""Conditions that are numbers, each with its dimension."""
SIDES = ("top", "bottom")


@dataclass(frozen=True, kw_only=True)
class Kind:
    """One sort of reading. unit: as in `<name>.json`; spread: dimension of its uncertainty.

    needs: conditions without which the reading tells nothing; takes: those that may be told as well.
    signed: whether its sign says which way; model: names of model errors that predictions of it have.
    """

    name: str
    dimension: str
    unit: str
    needs: Mapping[str, str]
    takes: tuple[str, ...]
    signed: bool = False
    spread: str = ""

    @property
    def says(self) -> str:
        """What is read."""
        return str(rows("readings")[self.name]["says"])

    @property
    def usual_uncertainty(self) -> str:
        """Assumed of a reading that tells none."""
        return str(rows("readings")[self.name]["uncertainty"])

    @property
    def conditions(self) -> tuple[str, ...]:
        """All that may be told of it."""
        return (*self.needs, *self.takes)


_METER = "the meter's, such as 10 kHz"
_COPPER = "the copper's at the reading, such as 23: 1 K is 0.4 % of a resistance"
_DRIVEN = ("current", "voltage")


@cache
def kinds() -> Mapping[str, Kind]:
    """All sorts of readings by name."""
    found = (
        Kind(
            name="resistance",
            dimension="resistance",
            unit="ohm",
            needs={"temperature": _COPPER},
            takes=("frequency", "gap"),
        ),
        Kind(
            name="inductance",
            dimension="inductance",
            unit="H",
            needs={"frequency": _METER},
            takes=("temperature", "gap"),
        ),
        Kind(
            name="quality",
            dimension="number",
            unit="1",
            needs={"frequency": _METER},
            takes=("temperature", "gap"),
        ),
        Kind(name="capacitance", dimension="capacitance", unit="F", needs={}, takes=()),
        Kind(name="self_resonance", dimension="frequency", unit="Hz", needs={}, takes=("gap",)),
        Kind(
            name="flux_density",
            dimension="flux density",
            unit="T",
            needs={"height": "that of the probe's middle over the outermost face of its side, such as 2 mm"},
            takes=("side", "gap", *_DRIVEN),
            signed=True,
        ),
        Kind(
            name="force",
            dimension="force",
            unit="N",
            needs={},
            takes=("gap", *_DRIVEN),
            signed=True,
        ),
        Kind(name="pull", dimension="force", unit="N", needs={}, takes=("gap", *_DRIVEN)),
        Kind(
            name="temperature",
            dimension="temperature",
            unit="degC",
            needs={},
            takes=("time", "temperature", "gap", *_DRIVEN),
            spread="temperature difference",
        ),
    )
    return {each.name: each for each in found}
