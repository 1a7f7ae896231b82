"""Arrays: one winding repeated on a ring, in a row or on a grid, each coil with its phase and its sense."""

import math
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Annotated, Literal

from pydantic import AfterValidator, Field, StrictStr, model_validator

from coilgen.design.keys import SI, Length, Size, Table, Whole, Word, optional, pair, si_of
from coilgen.design.measure import measure_of
from coilgen.design.phases import (
    LETTERS,
    MOST_PHASES,
    Connected,
    axis,
    by_star_of_slots,
    in_turn,
    least_factor,
    read,
)
from coilgen.design.placing import MOST_WINDINGS, Origin, PlacedWinding
from coilgen.errors import DesignError, Fault, shown
from coilgen.geometry.point import Point, direction
from coilgen.units import in_mm

if TYPE_CHECKING:
    from coilgen.design.design import Design

Arrangement = Literal["ring", "row", "grid"]
Coils = Literal["open", "series", "parallel"]
Connection = Literal["open", "star", "delta"]
Joints = Literal["outside", "inside", "below", "above"]

_PLACED_BY = {
    "ring": ("count", "radius"),
    "row": ("count", "pitch"),
    "grid": ("columns", "rows", "pitch"),
}
_EXAMPLES = {"count": "count = 9", "columns": "columns = 4", "rows": "rows = 2", "pitch": 'pitch = "15 mm"'}
_FACING = {"south": -90.0, "east": 0.0, "north": 90.0, "west": 180.0}
"""Directions of a winding's terminals, unturned, deg."""
_SIDES = {"ring": ("outside", "inside"), "row": ("below", "above"), "grid": ("below", "above")}
"""Where joints may run."""
_USUAL_PHASES = 3
_CANCELLED = 0.05
"""A phase whose coils' voltages add to less than this share is told to cancel."""
_WORSE = 0.9
"""So is one that has less than this share of what another order would give."""


ONE_WINDING = "repeats one winding; write it once, as [winding] in single brackets, or leave [array] out"


def _order(given: str) -> str:
    unknown = sorted({letter for letter in given if letter.upper() not in LETTERS})
    if unknown or not given:
        known = f"{LETTERS[0]} to {LETTERS[-1]}, small for a coil that is joined the other way round"
        raise ValueError(f"{shown(given)} is not a phase order; write one letter for each coil, {known}")
    return given


class Array(Table):
    """One winding many times: how its coils stand, which phases they make, and how they are joined."""

    arrangement: Annotated[Arrangement, Word()] = Field(description="ring, row or grid")
    count: Annotated[int, Whole(least=1, most=MOST_WINDINGS)] | None = Field(
        default=None, description="coils of a ring or a row"
    )
    columns: Annotated[int, Whole(least=1, most=MOST_WINDINGS)] | None = Field(
        default=None, description="coils of a grid from west to east"
    )
    rows: Annotated[int, Whole(least=1, most=MOST_WINDINGS)] | None = Field(
        default=None, description="coils of a grid from north to south"
    )
    radius: Length | None = Field(
        default=None, description="of a ring through the coils' centres; wedges are placed by their own radii"
    )
    pitch: Size | None = Field(
        default=None, description="from centre to centre in a row or a grid; of a grid also [x, y]"
    )
    phases: Annotated[int, Whole(least=1, most=MOST_PHASES)] | None = Field(
        default=None, description="default 3 where the coils divide among three, else 1"
    )
    phase_order: Annotated[StrictStr, AfterValidator(_order)] | None = Field(
        default=None,
        description="one letter a coil from coil 1 on, counter-clockwise on a ring, small where reversed; "
        "default by the star of slots of the mover's poles, without a mover in turn",
        json_schema_extra={"pattern": f"^[{LETTERS}{LETTERS.lower()}]+$"},
    )
    coils: Annotated[Coils, Word()] = optional("how coils of one phase are joined; default open", "open")
    connection: Annotated[Connection, Word()] = optional("how phases are joined; default open", "open")
    joints: Annotated[Joints, Word()] | None = Field(
        default=None,
        description="where joints run and terminals stand: outside or inside a ring, below or "
        "above a row or the rows of a grid; default outside, below",
    )
    joint_width: Length | None = Field(
        default=None, description="of the tracks that join coils; default the winding's trace_width"
    )

    @model_validator(mode="after")
    def _sound(self) -> "Array":
        faults = [*self._misplaced(), *self._miscounted(), *self._misjoined(), *self._misrouted()]
        if faults:
            raise DesignError(Fault(key=f"array.{fault.key}", says=fault.says) for fault in faults)
        return self

    def _misplaced(self) -> Iterator[Fault]:
        """Keys that do not go with the arrangement, and those that it lacks."""
        wanted = _PLACED_BY[self.arrangement]
        for key in ("count", "columns", "rows", "radius", "pitch"):
            given = getattr(self, key) is not None
            if given and key not in wanted:
                says = f"has no use in a {self.arrangement}, which {' and '.join(wanted)} place; leave it out"
                yield Fault(key=key, says=says)
            if not given and key in wanted and key != "radius":
                yield Fault(key=key, says=f"not given; a {self.arrangement} needs it: {_EXAMPLES[key]}")
        if self.arrangement == "row" and isinstance(self.pitch, tuple):
            yield Fault(key="pitch", says='a row has one pitch and not a list; write pitch = "15 mm"')

    def _miscounted(self) -> Iterator[Fault]:
        """More coils than there may be, and phases of unequal numbers of coils."""
        number = self.number
        if number is None:
            return
        if number > MOST_WINDINGS:
            yield Fault(key="rows", says=f"{number} coils in all; up to {MOST_WINDINGS} are allowed")
        elif number % (self.phases or 1):
            fitting = [str(each) for each in range(1, MOST_PHASES + 1) if number % each == 0]
            says = (
                f"{number} coils do not divide into {self.phases} phases of as many; use {', '.join(fitting)}"
            )
            yield Fault(key="phases", says=f"{says}, or change the number of coils")
        elif self.phase_order is not None:
            yield from self._misdealt(self.phase_order, number)

    def _misdealt(self, order: str, number: int) -> Iterator[Fault]:
        phases = self.phase_count
        letters = LETTERS[:phases]
        if len(order) != number:
            says = f"{shown(order)} has {len(order)} letters for {number} coils; write one for each"
            yield Fault(key="phase_order", says=says)
        elif set(order.upper()) - set(letters):
            says = f"{shown(order)} has letters beyond the {phases} phases; use {', '.join(letters)}"
            yield Fault(key="phase_order", says=f"{says}, or raise phases")
        elif len({order.upper().count(letter) for letter in letters}) > 1:
            dealt = ", ".join(f"{letter} {order.upper().count(letter)}" for letter in letters)
            says = f"{shown(order)} deals the phases unequal numbers of coils, {dealt}; give each as many"
            yield Fault(key="phase_order", says=says)

    def _misjoined(self) -> Iterator[Fault]:
        """Joints that there cannot be."""
        if self.connection != "open" and self.coils == "open":
            says = (
                f'"{self.connection}" joins phases whose coils are open; set coils to "series" or "parallel"'
            )
            yield Fault(key="connection", says=says)
        if self.connection != "open" and self.number is not None and self.phase_count < 3:
            says = f'"{self.connection}" needs three phases or more, and there are {self.phase_count}'
            yield Fault(key="connection", says=f'{says}; set phases, or connection = "open"')

    def _misrouted(self) -> Iterator[Fault]:
        """Keys of joints where there are none, or not for this arrangement."""
        for key in ("joints", "joint_width"):
            if getattr(self, key) is not None and not self.joined:
                says = 'has no use with open coils; set coils to "series" or "parallel", or leave it out'
                yield Fault(key=key, says=says)
        sides = _SIDES[self.arrangement]
        if self.joined and self.joints is not None and self.joints not in sides:
            says = f'"{self.joints}" is no side of a {self.arrangement}; use {" or ".join(sides)}'
            yield Fault(key="joints", says=says)

    @property
    def number(self) -> int | None:
        """How many coils there are; None while a key is missing."""
        if self.columns is not None and self.rows is not None:
            return self.columns * self.rows
        return self.count

    @property
    def phase_count(self) -> int:
        """Phases, as given or usual for so many coils."""
        usual = 1 if (self.number or 1) % _USUAL_PHASES else _USUAL_PHASES
        return self.phases or usual

    @property
    def joined(self) -> bool:
        """Whether copper joins coils."""
        return self.coils != "open"

    @property
    def turned(self) -> bool:
        """Whether the coils' terminals point inward or up, where their joints run."""
        return self.joints in ("inside", "above")

    @property
    def in_series(self) -> int:
        """Coils that the current passes one after another from one line to the other."""
        own = (self.number or 1) // self.phase_count if self.coils == "series" else 1
        return 2 * own if self.connection == "star" else own

    @property
    def side_by_side(self) -> int:
        """Coils that share the current of their phase."""
        return (self.number or 1) // self.phase_count if self.coils == "parallel" else 1

    @property
    def connected(self) -> tuple[Connected, ...]:
        """Phase and sense of each coil, coil 1 first."""
        assert self.phase_order is not None, "filled in when the design is read"
        return read(self.phase_order)


def with_wedge_angle(winding: Mapping[str, object], array: Array, spacing: float) -> dict[str, object]:
    """A wedge's table with the angle that it has by default: its share of the ring less one spacing, m."""
    inner = si_of(winding, "inner_radius", "length")
    outer, across = (si_of(winding, key, "length") for key in ("outer_radius", "outer_size"))
    if inner is None and outer is not None and across is not None:
        inner = outer - across
    if inner is None or inner <= spacing:
        return dict(winding)
    return {**winding, "angle": SI(math.tau / (array.number or 1) - math.asin(spacing / inner))}


def lacks_angle(winding: Mapping[str, object], array: object) -> bool:
    """Whether a winding is a wedge of a ring, as the tables tell, whose angle follows from their number."""
    if not isinstance(array, Mapping) or array.get("arrangement") != "ring":
        return False
    measure, count = measure_of(winding.get("shape")), array.get("count")
    enough = not isinstance(count, int | float) or count <= 0 or count > 2
    return measure is not None and measure.sector and "angle" not in winding and enough


def usual_outline(written: object) -> str:
    """Of a board whose [array] is written so."""
    ring = isinstance(written, Mapping) and written.get("arrangement") == "ring"
    return "round" if ring else "rectangle"


def ring_faults(array: Array, design: "Design") -> list[Fault]:
    """A radius that wedges have no use for, or that other coils lack."""
    if array.arrangement != "ring":
        return []
    if design.winding.ring is not None and array.radius is not None:
        says = "has no use with wedges, whose inner_radius and outer_radius place them; leave it out"
        return [Fault(key="array.radius", says=says)]
    if design.winding.ring is not None and array.turned:
        says = '"inside" needs terminals inward, and wedges have theirs outward; use "outside"'
        return [Fault(key="array.joints", says=says)]
    if design.winding.ring is None and array.radius is None:
        says = f'not given; a ring of coils of {in_mm(design.winding.span)} needs it: radius = "20 mm"'
        return [Fault(key="array.radius", says=says)]
    return []


def radius_of(array: Array, design: "Design") -> float:
    """Of the ring through the centres of an array's coils, m."""
    radius = design.winding.ring if array.radius is None else array.radius
    assert radius is not None, "a ring has a radius"
    return radius


def with_order(array: Array, mover: object) -> Array:
    """An array with its phases and their order told: as given, by the star of slots, or in turn."""
    number = array.number or 1
    order = array.phase_order or _best(array, mover) or in_turn(number, array.phase_count)
    return array.unchecked(phases=array.phase_count, phase_order=order)


def electrical_angles(array: Array, mover: object) -> list[float] | None:
    """Of each coil's induced voltage, rad, from the written [mover]; None where there is none, or a grid.

    On a ring half the poles pass in a turn; a row's coils stand a pitch apart, its poles one of their own.
    """
    if not isinstance(mover, Mapping) or array.number is None:
        return None
    if array.arrangement == "ring":
        poles = mover.get("poles")
        known = isinstance(poles, int) and not isinstance(poles, bool) and poles > 0
        step = math.pi * poles / array.number if known and isinstance(poles, int) else None
    else:
        own, pole = array.pitch, si_of(mover, "pitch", "length")
        step = (
            math.pi * own / pole if array.arrangement == "row" and isinstance(own, float) and pole else None
        )
    return None if step is None else [step * k for k in range(array.number)]


def _best(array: Array, mover: object) -> str | None:
    angles = electrical_angles(array, mover)
    return None if angles is None else by_star_of_slots(angles, array.phase_count)


def order_notes(array: Array, mover: object) -> tuple[str, ...]:
    """A phase order whose coils cancel one another's voltage, with one that does not."""
    angles, order = electrical_angles(array, mover), array.phase_order
    if angles is None or order is None:
        return ()
    factor, best = least_factor(angles, order, array.phase_count), _best(array, mover)
    better = 0.0 if best is None else least_factor(angles, best, array.phase_count)
    if best is None:
        return (
            f"{array.number} coils and these poles make no {array.phase_count} even phases: the voltages of "
            "the phases are unequal, whatever the order. Change the number of coils, poles or phases.",
        )
    if factor >= _WORSE * better:
        return ()
    how = "cancel" if factor < _CANCELLED else f"add to {factor:.2f} of their sum"
    return (
        f'array.phase_order "{order}": voltages of the coils of a phase {how}; "{best}" gives {better:.3f}.',
    )


def weight(array: Array | None, coil: PlacedWinding) -> float:
    """A coil's current over that of phase A's when they carry most; 1 without an array."""
    return 1.0 if array is None else coil.sense * math.cos(axis(coil.phase, array.phase_count))


def of_one_coil(array: Array, design: "Design") -> "Design":
    """The own design of a coil that joints lead to: pins in place of terminals, and its share of the drive.

    Pins stand as far out as the ends of their joints need. The voltage between two lines falls over the coils
    in series, a phase's current divides into those side by side.
    """
    if not array.joined:
        return design
    via, terminals, drive = design.via, design.terminals, design.drive
    across = max(via.pad, array.joint_width or 0.0)
    pins = terminals.unchecked(kind="plated-hole", drill=via.drill, pad=across, distance=None)
    shares = {
        "voltage": None if drive.voltage is None else drive.voltage / array.in_series,
        "current": None if drive.current is None else drive.current / array.side_by_side,
        "current_limit": None if drive.current_limit is None else drive.current_limit / array.side_by_side,
    }
    return design.unchecked(terminals=pins, drive=drive.unchecked(**shares))


def placements(array: Array, design: "Design") -> tuple[PlacedWinding, ...]:
    """The coils of an array, each with its phase, where they lie; design: of one coil, centred."""
    layers = tuple(range(1, design.winding.layers + 1))
    return tuple(
        PlacedWinding(
            name=f"{connected.letter}{number}",
            centre=centre,
            rotation=rotation,
            copper_layers=layers,
            design=design,
            origin=Origin(of_array=True),
            phase=connected.phase,
            sense=connected.sense,
        )
        for number, (connected, (centre, rotation)) in enumerate(
            zip(array.connected, places(array, design), strict=True), start=1
        )
    )


def places(array: Array, design: "Design") -> Iterator[tuple[Point, float]]:
    """Centre, m, and turn, deg, of each coil.

    A ring begins in the east, with terminals outward; a row in the west; a grid in the north-west.
    """
    if array.arrangement == "ring":
        yield from _on_ring(array, design)
        return
    assert array.pitch is not None and array.number is not None
    columns, rows = array.columns or array.number, array.rows or 1
    across, down = pair(array.pitch)
    for row in range(rows):
        for column in range(columns):
            x, y = (column - (columns - 1) / 2) * across, ((rows - 1) / 2 - row) * down
            yield complex(x, y), _row_turn(array, design)


def _row_turn(array: Array, design: "Design") -> float:
    """deg; joints need the coils' terminals on their side."""
    if not array.joined:
        return 0.0
    return ((90.0 if array.turned else -90.0) - _FACING[design.terminals.side]) % 360.0


def _on_ring(array: Array, design: "Design") -> Iterator[tuple[Point, float]]:
    assert array.number is not None
    radius, facing = radius_of(array, design), _FACING[design.terminals.side]
    for k in range(array.number):
        turn = 360.0 * k / array.number
        yield radius * direction(math.radians(turn)), (turn - facing + 180.0 * array.turned) % 360.0
