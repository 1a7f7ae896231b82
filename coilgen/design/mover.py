"""The mover of an array: a ring or a row of alternating magnets that passes its coils."""

import math
from collections.abc import Iterator, Mapping
from typing import Annotated, Literal

from pydantic import Field, model_validator

from coilgen.design.bodies import Graded
from coilgen.design.drive import Drive
from coilgen.design.footprint import measure_faults
from coilgen.design.keys import (
    Gap,
    Length,
    LengthOrZero,
    Row,
    SectorAngle,
    Table,
    Whole,
    Word,
    optional,
)
from coilgen.design.mounting import BasePlate
from coilgen.errors import DesignError, Fault
from coilgen.units import in_mm

Arrangement = Literal["ring", "row"]
Place = Literal["top", "bottom", "both"]
Form = Literal["disc", "ring", "block", "segment", "one-piece"]
MOST_POLES = 200
_MEASURES = ("width", "depth", "diameter", "hole_diameter", "angle")
_WANTED: Mapping[tuple[str, str], tuple[str, ...]] = {
    ("ring", "disc"): ("diameter",),
    ("ring", "ring"): ("diameter", "hole_diameter"),
    ("ring", "block"): ("width", "depth"),
    ("ring", "segment"): ("diameter", "hole_diameter", "angle"),
    ("ring", "one-piece"): ("diameter", "hole_diameter"),
    ("row", "disc"): ("diameter",),
    ("row", "ring"): ("diameter", "hole_diameter"),
    ("row", "block"): ("width", "depth"),
    ("row", "one-piece"): ("depth",),
}
"""Measures of a form in an arrangement; a row has no segments."""
_OF_RING = ("segment", "one-piece")
"""Forms whose diameters are those of the whole ring."""


class MoverMagnet(Graded):
    """Each of a mover's magnets, or the one piece that bears all poles; magnetised along z."""

    form: Annotated[Form, Word()] = Field(
        default="disc",
        description="disc, ring, block, segment of a ring, or one-piece with alternating poles; default disc",
    )
    angle: SectorAngle | None = Field(
        default=None, description="of a segment, seen from the ring's centre; bare numbers in degrees"
    )

    @property
    def pole_share(self) -> float:
        """Of a whole ring's area, that of a segment."""
        return (self.angle or math.tau) / math.tau


class BackPlate(Table):
    """An iron plate behind a mover's magnets, which moves with them."""

    thickness: Length = Field(description="along z")
    material: Annotated[str, Row("materials", "soft-magnetic")] = optional(
        "from `coilgen list materials`; default low-carbon steel", "low-carbon steel"
    )


class Mover(Table):
    """A rotor or a slider: magnets whose poles alternate, at a gap over the board's face."""

    arrangement: Annotated[Arrangement, Word()] = Field(description="ring or row, as the array's")
    poles: Annotated[int, Whole(least=2, most=MOST_POLES)] = Field(
        description="north and south together; of a ring an even number"
    )
    radius: Length | None = Field(
        default=None,
        description="of a ring through the magnets' centres; segments and one piece have their diameters",
    )
    pitch: Length | None = Field(default=None, description="of a row, from pole to pole")
    gap: Gap = Field(
        description="between the magnets' near faces and the board's, or that of what stands there"
    )
    gap_tolerance: LengthOrZero | None = Field(
        default=None, description="95 % limit of the gap; default tolerance.gap"
    )
    place: Annotated[Place, Word()] = Field(
        default="top", description="top, bottom, or both: a half on each side; default top"
    )
    magnet: MoverMagnet = Field(description="the magnets that it carries, all alike")
    back_plate: BackPlate | None = Field(default=None, description="left out: none")

    @model_validator(mode="after")
    def _whole(self) -> "Mover":
        self.magnet.graded("mover.magnet")
        found = [*self._misplaced(), *self._misshapen()]
        if not found:
            found = [*self._crowded()]
        if found:
            raise DesignError(found)
        return self

    def _misplaced(self) -> Iterator[Fault]:
        """Keys of the other arrangement, and those that are missing."""
        form = self.magnet.form
        by_diameter = self.arrangement == "ring" and form in _OF_RING
        if self.arrangement == "ring" and self.poles % 2:
            says = f"{self.poles} poles do not alternate round a ring; use an even number"
            yield Fault(key="mover.poles", says=says)
        for key, wanted in (
            ("radius", self.arrangement == "ring" and not by_diameter),
            ("pitch", self.arrangement == "row"),
        ):
            given = getattr(self, key) is not None
            if given and not wanted:
                why = f'magnets of form = "{form}", whose diameters place them' if by_diameter else "it"
                why = f'arrangement = "{self.arrangement}"' if why == "it" else why
                yield Fault(key=f"mover.{key}", says=f"has no use with {why}; leave it out")
            if wanted and not given:
                says = f'not given; arrangement = "{self.arrangement}" needs it: {key} = "15 mm"'
                yield Fault(key=f"mover.{key}", says=says)

    def _misshapen(self) -> Iterator[Fault]:
        """Measures of the magnets that are missing, or of another form."""
        magnet, form = self.magnet, f'form = "{self.magnet.form}"'
        wanted = _WANTED.get((self.arrangement, magnet.form))
        if wanted is None:
            says = f'"{magnet.form}" is part of a ring; use block, disc, ring or one-piece in a row'
            yield Fault(key="mover.magnet.form", says=says)
            return
        measures = {key: getattr(magnet, key) for key in _MEASURES}
        yield from measure_faults("mover.magnet", form, measures, wanted, f"it takes {', '.join(wanted)}")
        if magnet.gap_tolerance is not None:
            yield Fault(key="mover.magnet.gap_tolerance", says="is the mover's; write mover.gap_tolerance")
        if magnet.diameter is not None and magnet.hole >= magnet.diameter and "hole_diameter" in wanted:
            says = (
                f"{in_mm(magnet.hole)} is not under the diameter, {in_mm(magnet.diameter)}; make it smaller"
            )
            yield Fault(key="mover.magnet.hole_diameter", says=says)

    def _crowded(self) -> Iterator[Fault]:
        """Neighbours that would stand in one another."""
        key, own, room = self._neighbours()
        if own > room * (1 + 1e-9):
            told = f"{math.degrees(own):.4g}°" if key == "angle" else in_mm(own)
            most = f"{math.degrees(room):.4g}°" if key == "angle" else in_mm(room)
            says = f"{told} leaves no room for {self.poles} magnets, which have {most} each; make it smaller"
            yield Fault(key=f"mover.magnet.{key}", says=f"{says}, or the mover wider")

    def _neighbours(self) -> tuple[str, float, float]:
        """The measure that brings neighbours together, its value and what there is for it, m or rad."""
        magnet, step = self.magnet, math.pi / self.poles
        if magnet.form == "segment":
            return "angle", magnet.angle or 0.0, 2 * step
        if magnet.form == "one-piece":
            return "depth", 0.0, math.inf
        if self.arrangement == "row":
            key = "width" if magnet.form == "block" else "diameter"
            return key, getattr(magnet, key), self.pitch or 0.0
        radius = self.radius or 0.0
        if magnet.form == "block":
            inner = max(0.0, radius - (magnet.width or 0.0) / 2)
            return "depth", magnet.depth or 0.0, 2 * inner * math.tan(step) if self.poles > 2 else 2 * inner
        return "diameter", magnet.diameter or 0.0, 2 * radius * math.sin(step)

    @property
    def faces(self) -> tuple[str, ...]:
        """Sides of the board on which magnets stand."""
        return ("top", "bottom") if self.place == "both" else (self.place,)

    @property
    def mean_pitch(self) -> float:
        """From pole to pole along the middle of the magnets, m."""
        return self.pitch or 2 * math.pi * self.middle_radius / self.poles

    @property
    def middle_radius(self) -> float:
        """Of the middle of a ring's magnets, m; 0 for a row."""
        if self.arrangement == "row":
            return 0.0
        return self.radius or ((self.magnet.diameter or 0.0) + self.magnet.hole) / 4

    @property
    def pole_area(self) -> float:
        """Of one pole's face, m²."""
        magnet = self.magnet
        if magnet.form in ("disc", "ring", "block"):
            return magnet.area
        if self.arrangement == "row":
            return (self.pitch or 0.0) * (magnet.depth or 0.0)
        whole = math.pi / 4 * ((magnet.diameter or 0.0) ** 2 - magnet.hole**2)
        return whole * (magnet.pole_share if magnet.form == "segment" else 1 / self.poles)

    @property
    def breadth(self) -> float:
        """Of the magnets across the motion, m."""
        magnet = self.magnet
        if self.arrangement == "ring" and magnet.form in _OF_RING:
            return ((magnet.diameter or 0.0) - magnet.hole) / 2
        if magnet.form in ("block", "one-piece"):
            across = magnet.width if self.arrangement == "ring" else magnet.depth
            return across or 0.0
        return magnet.diameter or 0.0


WITHOUT_ARRAY = "passes the coils of an [array]; write one, or use [magnet] for a magnet at a single coil"
IN_THE_WAY = '"{}" is between the coils and the mover, whose flux it would short; use the other face'
THROUGH_PLATE = (
    "reaches through core {}, which beside a mover is taken for a plate without holes behind the coils; "
    "shorten it, raise it, or leave that core out"
)
SIX_STEPS_ONLY = '"six-step" follows a mover\'s place; write a [mover], or use dc, square or sine'


def mover_faults(
    mover: Mover,
    arrangement: str,
    phases: int,
    drive: Drive,
    plate: BasePlate | None,
    others: Mapping[str, object],
) -> Iterator[Fault]:
    """What of an array's design does not go with its mover; others: the tables magnet and target."""
    if arrangement != mover.arrangement:
        says = f'"{mover.arrangement}" does not pass an array whose arrangement is "{arrangement}"'
        yield Fault(key="mover.arrangement", says=f"{says}; use the same for both")
    for name, body in others.items():
        if body is not None:
            says = f"has no place beside [mover], which brings its own magnets; leave [{name}] out"
            yield Fault(key=name, says=says)
    if plate is not None and plate.place in mover.faces and plate.thickness >= mover.gap:
        says = f"{in_mm(plate.thickness)} stands in the mover's gap of {in_mm(mover.gap)}"
        says += "; use the other face or widen that gap"
        yield Fault(key="mounting.base_plate.thickness", says=says)
    if drive.waveform in ("square", "sine"):
        says = f'"{drive.waveform}" does not follow the mover\'s place; leave it out for sinusoidal currents '
        yield Fault(key="drive.waveform", says=f'{says}of the mover\'s own frequency, or use "six-step"')
    if drive.waveform == "six-step" and phases != 3:
        says = f'"six-step" is for three phases, and there are {phases}; leave it out for sinusoidal currents'
        yield Fault(key="drive.waveform", says=says)
