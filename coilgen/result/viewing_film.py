"""The magnetic viewing film that people lay on a coil at the bench, and what it shows."""

from dataclasses import dataclass
from typing import Any, cast

from coilgen.catalogue import rows

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


def film_follows(waveform: str) -> bool:
    """Whether a film shows a drive's field: its flakes need one that keeps its direction.

    >>> film_follows("dc"), film_follows("sine")
    (True, False)
    """
    return waveform != "sine"
