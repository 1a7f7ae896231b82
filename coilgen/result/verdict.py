"""Whether to order a board, in a sentence: its rules, then what makes a board that keeps them useless."""

from collections.abc import Collection

from coilgen.design.drive import ASSUMED
from coilgen.frozen import dataclass
from coilgen.result.caution import OF_HEAT, fault_told, warns
from coilgen.result.result import Result
from coilgen.units import readable


@dataclass(frozen=True, kw_only=True)
class Verdict:
    """A sentence in three parts: what the rules found, which is in the middle, may be a link to them."""

    begins: str
    found: str = ""
    ends: str = ""

    def __str__(self) -> str:
        return f"{self.begins}{self.found}{self.ends}"


def verdict(result: Result, *, awaited: bool = False) -> Verdict:
    """The rules come first: a board that breaks them is not ordered, whatever its figures are.

    awaited: slow figures, and what they warn of, are not there yet.
    """
    shop = result.design.rules.shop
    broken = {finding.rule for finding in result.findings}
    fault = fault_told(result.cautions)
    more = _of_pulse(result, fault) + _taken(result)
    if broken:
        rules = "1 rule" if len(broken) == 1 else f"{len(broken)} rules"
        return Verdict(
            begins="Not to be ordered as it is: ",
            found=f"it breaks {rules} of {shop}",
            ends=f"; besides, {fault}.{more}" if fault else f".{more}",
        )
    but = f", but not to be used as it is: {fault}" if fault else ""
    to_read = "; figures are being computed" if awaited else _to_read(result.cautions)
    return Verdict(begins=f"Keeps every rule of {shop}{but}{to_read}.{more}")


def _taken(result: Result) -> str:
    """What drive the figures stand on where none is told, as a sentence more."""
    silent = result.design.not_driven
    of = f" for {', '.join(silent)}" if any(silent) else ""
    return f" No drive is told{of}: figures are those at {ASSUMED:g} V." if silent else ""


def _of_pulse(result: Result, fault: str) -> str:
    """How hot the pulse gets that the design tells of, where the fault is of a drive that stays on."""
    drive, reached = result.design.drive, result.figures.get("pulse_temperature")
    if not (drive.pulsed and fault in OF_HEAT and reached is not None):
        return ""
    return (
        f" The heat is that of a drive that stays on: one pulse of {readable(drive.pulse, 's')} from cold "
        f"reaches {readable(reached.value, reached.unit)}."
    )


def _to_read(cautions: Collection[str]) -> str:
    warnings = sum(map(warns, cautions))
    return {0: "", 1: "; read the warning first"}.get(warnings, f"; read the {warnings} warnings first")
