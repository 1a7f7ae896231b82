"""What may explain readings: causes that boards of a batch share, and the gap of each."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from coilgen.design.as_made import share, soft_bodies, subject
from coilgen.design.calibration import LENGTHS
from coilgen.frozen import dataclass
from coilgen.result.known_together import conductivity_limit
from coilgen.study.bench.forecast import NORMAL, moving

if TYPE_CHECKING:
    from coilgen.design.calibration import Limits
    from coilgen.design.design import Design

GAP = "gap"


@dataclass(frozen=True, kw_only=True)
class Cause:
    """One of them. limits: 95 % of what may be met before any reading, SI; a length or a factor.

    of: what it is a fact of; sample: the board that has it by itself, "" for what all share.
    log: whether half and twice are equally far.
    """

    name: str
    of: str
    limits: Limits
    log: bool
    sample: str = ""

    @property
    def is_length(self) -> bool:
        """Whether it is told in m; a factor else."""
        return self.name in LENGTHS or self.name == GAP

    @property
    def label(self) -> str:
        """Name, with its board where it has one."""
        return f"{self.name} of {self.sample}" if self.sample else self.name

    def value(self, place: float) -> float:
        """SI, of a place in units of the limits: 0 is expected, -1 and 1 are the limits."""
        low, usual, high = self.limits
        if self.log:
            end = high if place > 0 else low
            return float(usual * (end / usual) ** abs(place))
        least = 1e-6 if self.name == "plating" else -math.inf
        return max(usual + place * (high - low) / 2, least)

    def limits_at(self, place: float, deviation: float) -> Limits:
        """95 % limits about a place that is known to so much, one standard deviation."""
        reach = NORMAL * deviation
        return self.value(place - reach), self.value(place), self.value(place + reach)


def causes_of(design: Design) -> Iterator[Cause]:
    """Shared causes that a design has, those that no tolerance leaves open left out."""
    for name, limits in _limits(design).items():
        of = subject(design, name)
        if of is not None and limits[2] > limits[0]:
            yield Cause(name=name, of=of, limits=limits, log=name in _BY_FACTOR)


def gap_of(design: Design, sample: str) -> Cause | None:
    """How much wider the gap of the body that a bench sets is on one board; None where there is none."""
    name = moving(design)
    if name is None:
        return None
    body = (
        next(core for core in design.core if core.place != "pocket")
        if name == "core"
        else getattr(design, name)
    )
    by = design.tolerance.gap_of(body)
    if not by:
        return None
    return Cause(name=GAP, of=f"the {name}", limits=(-by, 0.0, by), log=False, sample=sample)


_BY_FACTOR = (
    "copper thickness",
    "conductivity",
    "metal's permeability",
    "saturation",
    "metal's conductivity",
    "convection",
    "joints",
)


def _limits(design: Design) -> Mapping[str, Limits]:
    """Of every cause, as the tolerances of the figures have them."""
    by, (least, usual) = design.tolerance, design.tolerance.plating
    return {
        "trace width": (-by.trace_width, 0.0, by.trace_width),
        "copper thickness": _factor(by.copper_thickness),
        "conductivity": _factor(conductivity_limit(design, "conductivity")),
        "plating": (least, usual, 2 * usual - least),
        "dielectric thickness": _about(by.dielectric_thickness),
        "permittivity": _about(by.permittivity),
        "solder mask": _about(by.mask_thickness),
        "metal's permeability": _factor(_of_soft(design, by.permeability)),
        "saturation": _factor(_of_soft(design, by.saturation)),
        "metal's conductivity": _factor(conductivity_limit(design, "metal's conductivity")),
        "remanence": _about(by.remanence or 0.0),
        "convection": _convection(design),
        "joints": _joints(design),
    }


def _factor(limit: float) -> Limits:
    return 1 / (1 + limit), 1.0, 1 + limit


def _about(limit: float) -> Limits:
    return 1 - limit, 1.0, 1 + limit


def _of_soft(design: Design, told: float | None) -> float:
    return (told or 0.0) if any(True for _ in soft_bodies(design)) else 0.0


def _convection(design: Design) -> Limits:
    from coilgen.figures.heat._air import convection_limits

    return convection_limits(design)


def _joints(design: Design) -> Limits:
    """The widest of the joints that there are, as a factor."""
    mounting, plate, magnet = design.mounting, design.mounting.base_plate, design.magnet
    held = [core.contact for core in design.core]
    held += [plate.contact] if plate is not None else []
    held += [magnet.contact] if magnet is not None and magnet.contact is not None else []
    bands = [mounting.contact_band(contact) for contact in held]
    widest = max((high / low for low, _, high in bands), default=1.0)
    return _factor(share((1.0, 1.0, widest)))
