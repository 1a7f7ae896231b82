"""What drives the coil, and where its field is told: two tables of the design file."""

import math
from collections.abc import Mapping
from typing import Annotated, Literal

from pydantic import ConfigDict, Field, model_validator

from coilgen.design.keys import (
    SI,
    Current,
    CurrentOrZero,
    Frequency,
    Lengths,
    Share,
    Table,
    Temperature,
    Time,
    Voltage,
    Word,
    filled,
    optional,
)
from coilgen.errors import DesignError, Fault

ASSUMED = 5.0
"""V, across the terminals where a file tells neither voltage nor current."""
LEVELS = frozenset({"voltage", "current"})
"""Keys of which one tells what drives a winding."""
ALL_IDLE = (
    "0 A is for windings beside one that is driven; tell a current, or leave it out, and the drive is taken "
    f"to be {ASSUMED:g} V"
)
"""What is wrong with a current of 0 where no other winding has one."""
Waveform = Literal["dc", "square", "sine", "six-step"]
NO_USE: Mapping[str, tuple[str, ...]] = {
    "dc": ("frequency", "duty"),
    "six-step": ("frequency", "duty"),
    "square": (),
    "sine": ("duty", "current_limit"),
}
"""Keys that a waveform has no use for."""


class Drive(Table):
    """What drives the coil, and the air it hangs in."""

    model_config = ConfigDict(
        json_schema_extra={
            "not": {
                "required": ["current"],
                "anyOf": [{"required": ["voltage"]}, {"required": ["current_limit"]}],
            }
        }
    )

    voltage: Voltage | None = Field(
        default=None,
        description="across the terminals: level while on (dc, square), root mean square (sine); default 5 V",
    )
    current: CurrentOrZero | None = Field(
        default=None,
        description="instead of voltage, told the same way; 0 of one of several windings: nothing drives it",
    )
    current_limit: Current | None = Field(
        default=None,
        description="at which a supply of constant voltage gives in and holds the current; dc and square; "
        "default none",
    )
    waveform: Annotated[Waveform, Word()] = Field(
        default="dc",
        description="default dc; phases of an array with a mover: sinusoidal currents from a dc supply, or "
        "six-step",
    )
    frequency: Frequency | None = Field(default=None, description="of a square wave or sine")
    duty: Share | None = Field(
        default=None, description="share of a square wave's period that is on; default 0.5"
    )
    pulse: Time = optional("length of a single pulse that is judged, from cold; default 1 s", 1.0)
    clamp: Voltage = optional(
        "voltage of the path that takes the current over when the drive switches off; default 0.7 V, a diode",
        0.7,
    )
    ambient: Temperature = Field(default=25.0, description="temperature of the air; default 25 degC")

    @model_validator(mode="before")
    @classmethod
    def _fill(cls, given: object) -> object:
        if not isinstance(given, Mapping):
            return given
        usual: dict[str, object] = {}
        if LEVELS.isdisjoint(given):
            usual["voltage"] = SI(ASSUMED)
        if given.get("waveform") == "square":
            usual["duty"] = SI(0.5)
        return filled(given, usual)

    @model_validator(mode="after")
    def _whole(self) -> "Drive":
        faults = []
        if self.voltage is not None and self.current is not None:
            faults.append(Fault(key="drive.current", says="given besides voltage; keep one of the two"))
        faults += self._limit_faults()
        no_use = NO_USE[self.waveform]
        if "frequency" in no_use and self.frequency is not None:
            says = f'has no use with waveform = "{self.waveform}"; leave it out'
            faults.append(Fault(key="drive.frequency", says=says))
        if "frequency" not in no_use and self.frequency is None:
            faults.append(
                Fault(key="drive.frequency", says=f'not given; waveform = "{self.waveform}" needs it')
            )
        if "duty" in no_use and self.duty is not None:
            faults.append(Fault(key="drive.duty", says='belongs to waveform = "square"; leave it out'))
        if faults:
            raise DesignError(faults)
        return self

    def _limit_faults(self) -> list[Fault]:
        if self.current_limit is None:
            return []
        key = "drive.current_limit"
        if self.current is not None:
            return [
                Fault(key=key, says="belongs to drive.voltage; drive.current is held already, leave one out")
            ]
        if "current_limit" in NO_USE[self.waveform]:
            says = 'belongs to waveform = "dc" or "square": a sine would be cut off; leave it out'
            return [Fault(key=key, says=says)]
        return []

    @property
    def pulsed(self) -> bool:
        """Whether a pulse is told: what it heats is looked at first then, beside what settles."""
        return "pulse" in self.model_fields_set

    @property
    def idle(self) -> bool:
        """Whether nothing drives the winding, as a sense coil on a meter: it carries no current."""
        return self.current == 0.0

    def through(self, resistance: float, reactance: float = 0.0) -> float:
        """Current that the drive sends through a resistance and a reactance in series while on, A."""
        if self.voltage is None:
            assert self.current is not None
            return self.current
        return self.limited(self.voltage / math.hypot(resistance, reactance))

    def limited(self, current: float) -> float:
        """Of a current that the voltage would drive, what the supply gives, A."""
        return current if self.current_limit is None else min(current, self.current_limit)

    def gives_in(self, resistance: float) -> bool:
        """Whether a resistance, ohm, takes so much current that the supply holds it at its limit."""
        return self.voltage is not None and self.through(resistance) * resistance < self.voltage * (1 - 1e-9)


def tells_drive(written: Mapping[str, object]) -> bool:
    """Whether a winding's tables, as written, tell its voltage or current."""
    drive = written.get("drive")
    return isinstance(drive, Mapping) and not LEVELS.isdisjoint(drive)


def taken_for(windings: tuple[str, ...]) -> tuple[str, ...]:
    """What to know of windings whose drive is not told, in a sentence; "" for a board's only one.

    >>> taken_for(())
    ()
    """
    if not windings:
        return ()
    names = ", ".join(filter(None, windings))
    of, table = (
        (f" for {names}", "its [winding.drive], current = 0 where nothing drives it")
        if names
        else ("", "[drive]")
    )
    return (
        f"No drive is told{of}: {ASSUMED:g} V is taken, and current, fields, forces, power and temperature "
        f"are those at it. Tell voltage or current in {table}.",
    )


class Probe(Table):
    """Where the field is told, on the axis."""

    heights: Lengths = optional(
        "above the top face and below the bottom face; default 0.5, 1, 2 and 5 mm", (5e-4, 1e-3, 2e-3, 5e-3)
    )
