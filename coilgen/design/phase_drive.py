"""How a supply drives the phases of an array that a mover passes: amplitudes, and what warms the copper."""

import math
from typing import TYPE_CHECKING

from coilgen.design.drive import Drive

if TYPE_CHECKING:
    from coilgen.design.design import Design

_SINE = math.sqrt(1 / 2)
_TWO_OF_THREE = math.sqrt(2 / 3)


def voltage_share(drive: Drive, phases: int, connection: str) -> float:
    """Largest voltage across a phase over the supply's.

    Sinusoids of a bridge whose three legs are pulse-width modulated with their common voltage shifted: one
    over the root of three of the supply in a star, the whole across a leg of a delta or a phase by itself; in
    a star of other numbers half of it (common practice, no source). Six steps: two phases of a star share it.
    """
    if connection != "star":
        return 1.0
    return 1 / math.sqrt(3) if phases == 3 and drive.waveform != "six-step" else 0.5


def effective_share(drive: Drive, connection: str) -> float:
    """Root mean square of a phase's current over its amplitude.

    Six steps: on for two thirds of the time; in a delta all for one third, half for the rest.
    """
    return _TWO_OF_THREE if drive.waveform == "six-step" and connection != "delta" else _SINE


def crest(design: "Design") -> float:
    """A phase's amplitude over its root mean square beside a mover, else 1: fields are told at the crest."""
    if design.mover is None or design.array is None:
        return 1.0
    return 1 / effective_share(design.drive, design.array.connection)


def of_coil(drive: Drive, phases: int, connection: str, in_series: int, in_parallel: int) -> Drive:
    """Direct current that warms one coil alone as its phase's does while the mover stands still."""
    effective = effective_share(drive, connection)
    if drive.voltage is None:
        assert drive.current is not None
        current = effective * drive.current / in_parallel
        return drive.unchecked(waveform="dc", current=current)
    across = effective * voltage_share(drive, phases, connection) * drive.voltage / in_series
    limit = drive.current_limit
    held = None if limit is None else effective * limit / in_parallel
    return drive.unchecked(waveform="dc", voltage=across, current_limit=held)
