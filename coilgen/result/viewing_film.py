"""The magnetic viewing film that people lay on a coil at the bench, and what it shows."""

import math
from typing import Any, cast

from coilgen.catalogue import rows
from coilgen.design.design import Design
from coilgen.frozen import dataclass

USUAL = "nickel-flakes"


@dataclass(frozen=True, kw_only=True)
class ViewingFilm:
    """shows: which part of the field turns it dark. thresholds: least, typical, most T from which it does."""

    says: str
    shows: str
    thresholds: tuple[float, float, float]
    source: str

    @property
    def threshold(self) -> float:
        """Typical, T."""
        return self.thresholds[1]


def viewing_film(name: str = USUAL) -> ViewingFilm:
    """A row of the data."""
    row = cast(dict[str, Any], rows("viewing_films")[name])
    low, typical, high = row["thresholds"]
    return ViewingFilm(
        says=row["says"], shows=row["shows"], thresholds=(low, typical, high), source=row["source"]
    )


def film_height(design: Design) -> float:
    """Where a film would lie and the field from above is told: the first probe height over the top, m."""
    return design.stand.face("top") + design.probe.heights[0]


def through_magnet(design: Design) -> bool:
    """Whether the magnet stands in the way there."""
    return off_magnet(design) < 0.0


def off_magnet(design: Design) -> float:
    """From a film there to the magnet's nearer face, m; negative through it, without end without one."""
    if design.magnet is None:
        return math.inf
    standing, height = design.stand.of(design.magnet), film_height(design)
    return max(standing.bottom - height, height - standing.top)


def film_shows(design: Design) -> bool:
    """Whether a film can lie there, in a field that keeps its direction: its flakes follow no sine."""
    return design.drive.waveform != "sine" and not through_magnet(design)
