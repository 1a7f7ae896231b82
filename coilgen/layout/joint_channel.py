"""The places beside a ring or a row of coils where joints run, and which stretch of them is whose."""

import cmath
import math
from collections.abc import Callable, Hashable, Mapping, Sequence
from typing import TypeVar

from coilgen.frozen import dataclass
from coilgen.geometry.arc import Arc
from coilgen.geometry.line import Line
from coilgen.geometry.path import Segment
from coilgen.geometry.point import Point

Span = tuple[float, float]
"""A stretch along a channel; on a ring its end may pass a turn."""
T = TypeVar("T", bound=Hashable)

NEAR = 1e-7
"""m or rad, within which places along a channel are one."""


@dataclass(frozen=True)
class Channel:
    """Places beside a ring or a row of coils: along it, m on a row and rad on a ring, and out of it, m.

    pins: distance of their row from the ring's centre, or southward from the board's middle, m. outward: 1,
    or -1 where the channel lies within the ring or above the row.
    """

    ring: bool
    pins: float
    outward: int

    def at(self, along: float, out: float) -> Point:
        """The place so far along, and so far beyond the pins."""
        away = self.pins + self.outward * out
        return cmath.rect(away, along) if self.ring else complex(along, -away)

    def way(self, at: Point) -> Point:
        """The unit vector out of the channel at a place."""
        return self.outward * (at / abs(at) if self.ring else -1j)

    def along(self, at: Point) -> float:
        """Of a place, on a ring from 0 to a whole turn."""
        return cmath.phase(at) % math.tau if self.ring else at.real

    def out(self, at: Point) -> float:
        """How far beyond the pins a place is."""
        return self.outward * ((abs(at) if self.ring else -at.imag) - self.pins)

    def run(self, start: float, end: float, out: float) -> Segment:
        """Along the row from one place to another beyond it."""
        if self.ring:
            return Arc(0j, self.pins + self.outward * out, start, end - start)
        return Line(self.at(start, out), self.at(end, out))

    def step(self, length: float, out: float) -> float:
        """Along the row, for a length so far beyond the pins, m."""
        return length / max(self.pins + self.outward * out, NEAR) if self.ring else length

    def span(self, places: Sequence[float]) -> Span:
        """The shortest stretch that holds places."""
        along = sorted(places)
        if not self.ring:
            return along[0], along[-1]
        ends = [*along[1:], along[0] + math.tau]
        gaps = [after - before for before, after in zip(along, ends, strict=True)]
        widest = gaps.index(max(gaps))
        start = along[(widest + 1) % len(along)]
        return start, start + math.tau - gaps[widest]

    def within(self, at: float, span: Span, margin: float = 0.0) -> bool:
        """Whether a place lies in a stretch, or so near to it."""
        start, end = span[0] - margin, span[1] + margin
        return start <= at <= end or (self.ring and (at - start) % math.tau <= end - start)

    def following(self, at: float, span: Span) -> float:
        """A place of a stretch as counted on from the stretch's start."""
        if not self.ring:
            return at
        on = (at - span[0]) % math.tau
        return span[0] if on > math.tau - NEAR else span[0] + on

    def same(self, one: float, other: float) -> bool:
        """Whether two places along the row are one."""
        if self.ring:
            return abs(cmath.phase(cmath.rect(1.0, one - other))) < NEAR
        return abs(one - other) < NEAR


def tracks(channel: Channel, spans: Mapping[T, Span], step: Callable[[int], float]) -> dict[T, int]:
    """Which track each stretch runs on, from 0: the nearest to the pins that is free all along it.

    step: between two on the track of a number, along the channel.
    """
    taken: list[list[Span]] = []
    found: dict[T, int] = {}

    def free(span: Span, track: int) -> bool:
        margin = step(track)
        meets = (
            channel.within(span[0], other, margin) or channel.within(other[0], span, margin)
            for other in taken[track]
        )
        return not any(meets)

    for key in sorted(spans, key=lambda key: spans[key]):
        track = next((k for k in range(len(taken)) if free(spans[key], k)), len(taken))
        if track == len(taken):
            taken.append([])
        taken[track].append(spans[key])
        found[key] = track
    return found
