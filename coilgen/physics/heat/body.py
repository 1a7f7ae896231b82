"""What a coil's heat is reckoned from: board, winding, what is mounted on it, air, supply."""

import math
from dataclasses import replace
from typing import Literal

from coilgen.frozen import dataclass
from coilgen.physics.heat.lead_body import Leads
from coilgen.physics.heat.outline import Outline

ZERO_CELSIUS = 273.15
"""K."""
COPPER_CONDUCTIVITY = 398.0
"""W/(m K), warm: 401 at 27 degC (CRC Handbook of Chemistry and Physics), 393 at 127 (value from memory)."""
COPPER_HEAT_CAPACITY = 8890.0 * 385.0
"""Of a volume, J/(m³ K) (density of IEC 60028, 1925; 385 J/(kg K) of the CRC Handbook)."""

Orientation = Literal["face-up", "face-down", "vertical"]


@dataclass(frozen=True, kw_only=True)
class Laminate:
    """What the board's dielectric is made of.

    conductivity (through the thickness) and conductivity_in_plane W/(m K), density kg/m³,
    heat_capacity J/(kg K).
    """

    conductivity: float
    conductivity_in_plane: float
    density: float
    heat_capacity: float

    def __post_init__(self) -> None:
        _positive(**vars(self))


@dataclass(frozen=True, kw_only=True)
class CopperLayer:
    """One copper layer; thickness 0, m, stands for a bare face of the board.

    coverage: share of the winding's ring that turns cover; pour_coverage: share of the rest that is
    copper in one piece, from inside to outside; island_coverage: share of what is left that pads cover,
    which do not touch. resistance_20c: of the turns on it at 20 degC, ohm, in series with the other layers;
    0 for a layer that carries no current.
    """

    thickness: float
    coverage: float = 0.0
    pour_coverage: float = 0.0
    island_coverage: float = 0.0
    resistance_20c: float = 0.0

    def __post_init__(self) -> None:
        _not_negative(**vars(self))
        if max(self.coverage, self.pour_coverage, self.island_coverage) > 1:
            raise ValueError("a coverage is at most 1")


@dataclass(frozen=True, kw_only=True)
class Stiffened:
    """A stiffener on a face of a board, from its middle or its hole on; as warm as the face.

    layer: 0 on the top, -1 on the bottom; radius of the circle of its area with the hole's, m; sheet:
    conductivity in plane times thickness, W/K; capacity on an area, J/(m² K).
    """

    layer: int
    radius: float
    sheet: float
    capacity: float

    def __post_init__(self) -> None:
        _positive(radius=self.radius, sheet=self.sheet, capacity=self.capacity)


@dataclass(frozen=True, kw_only=True)
class WoundBoard:
    """A board with its winding. Radii in m, of the circles of the same areas; emissivity of its faces.

    layers: copper layers (or bare faces) from the top face to the bottom face, two at least; dielectric: m,
    between each two of them. hole_radius: of the pocket, 0 for none. A spiral of one pitch and width
    heats its ring evenly. inner_lengthening, outer_lengthening: length of the winding's inner and outer edge
    over that of the circle of the same area, 1 and more. stiffened: what lies beneath the winding.
    """

    outline: Outline
    winding_inner_radius: float
    winding_outer_radius: float
    layers: tuple[CopperLayer, ...]
    dielectric: tuple[float, ...]
    laminate: Laminate
    hole_radius: float = 0.0
    emissivity: float = 0.9
    inner_lengthening: float = 1.0
    outer_lengthening: float = 1.0
    stiffened: tuple[Stiffened, ...] = ()

    def __post_init__(self) -> None:
        radii = (self.hole_radius, self.winding_inner_radius, self.winding_outer_radius)
        if not 0 <= radii[0] <= radii[1] < radii[2] <= self.outline.radius * (1 + 1e-9):
            raise ValueError(
                "radii must grow from hole to winding's inside, its outside and the board's edge"
            )
        if len(self.layers) < 2 or len(self.dielectric) != len(self.layers) - 1:
            raise ValueError("two layers at least, and one dielectric between each two")
        _positive(**{f"dielectric {k + 1}": d for k, d in enumerate(self.dielectric)})
        _positive(resistance=sum(layer.resistance_20c for layer in self.layers))
        _share(emissivity=self.emissivity)
        if min(self.inner_lengthening, self.outer_lengthening) < 1 - 1e-9:
            raise ValueError("no edge is shorter than the circle of its area")

    @property
    def thickness(self) -> float:
        """Copper and dielectric together, m."""
        return sum(layer.thickness for layer in self.layers) + sum(self.dielectric)

    @property
    def resistance_20c(self) -> float:
        """Of the whole winding at 20 degC, ohm."""
        return sum(layer.resistance_20c for layer in self.layers)


@dataclass(frozen=True, kw_only=True)
class MountedPlate:
    """A core, magnet or base plate held flat on a face of the board, both centred.

    thickness m, conductivity W/(m K), density kg/m³, heat_capacity J/(kg K). contact: resistance of the joint
    for an area, m² K/W; contact_band: its least and largest. inner_radius: of a ring, m.
    """

    outline: Outline
    thickness: float
    conductivity: float
    density: float
    heat_capacity: float
    contact: float
    contact_band: tuple[float, float] | None = None
    inner_radius: float = 0.0
    emissivity: float = 0.3

    def __post_init__(self) -> None:
        _positive(
            thickness=self.thickness,
            conductivity=self.conductivity,
            density=self.density,
            heat_capacity=self.heat_capacity,
        )
        low, high = self.contact_range
        if not 0 <= low <= self.contact <= high:
            raise ValueError("contact must lie in its band and not be negative")
        if not 0 <= self.inner_radius < self.outline.radius:
            raise ValueError("a ring's inner radius lies inside its outline")
        _share(emissivity=self.emissivity)

    @property
    def area(self) -> float:
        """Of one face, m²."""
        return self.outline.area - math.pi * self.inner_radius**2

    @property
    def contact_range(self) -> tuple[float, float]:
        """Least and largest contact resistance, m² K/W."""
        return self.contact_band or (self.contact, self.contact)


@dataclass(frozen=True, kw_only=True)
class PocketCore:
    """A core in the pocket, of one temperature.

    contact_area m² with the pocket's wall, contact m² K/W, heat_capacity J/K of all of it,
    surface_area m² open to the air, none where plates cover both ends, emissivity.
    """

    contact_area: float
    contact: float
    heat_capacity: float
    surface_area: float
    emissivity: float = 0.3

    def __post_init__(self) -> None:
        _positive(contact_area=self.contact_area, contact=self.contact, heat_capacity=self.heat_capacity)
        _not_negative(surface_area=self.surface_area)
        _share(emissivity=self.emissivity)


@dataclass(frozen=True, kw_only=True)
class Surroundings:
    """The air round the coil: ambient degC, which way the board's top face looks.

    convection_factor: scale of every coefficient of convection; convection_band: its least and largest.
    forced_coefficient: W/(m² K) on every face instead of natural convection, as of a fan.
    """

    ambient: float = 25.0
    orientation: Orientation = "face-up"
    convection_factor: float = 1.0
    convection_band: tuple[float, float] = (1.0, 1.0)
    forced_coefficient: float | None = None

    def __post_init__(self) -> None:
        if not self.ambient > -100:
            raise ValueError("ambient must be above -100 degC")
        low, high = self.convection_band
        if not 0 < low <= self.convection_factor <= high:
            raise ValueError("convection_factor must be positive and lie in its band")
        if self.forced_coefficient is not None:
            _positive(forced_coefficient=self.forced_coefficient)


@dataclass(frozen=True, kw_only=True)
class Assembly:
    """Board, what is mounted on its top and bottom face and in its pocket, and the air.

    leads: those whose heat is counted where they are, besides that of the board's layers.
    temperature_coefficient: of the copper's resistance, 1/K at 20 degC (IEC 60028, 1925).
    """

    board: WoundBoard
    surroundings: Surroundings
    top: MountedPlate | None = None
    bottom: MountedPlate | None = None
    core: PocketCore | None = None
    leads: Leads | None = None
    temperature_coefficient: float = 0.00393

    def __post_init__(self) -> None:
        _not_negative(temperature_coefficient=self.temperature_coefficient)
        if self.core is not None and not self.board.hole_radius > 0:
            raise ValueError("a core in the pocket needs a pocket")


@dataclass(frozen=True, kw_only=True)
class Supply:
    """Constant voltage V or constant current A while on, and the share of the time it is on.

    current_limit A: a supply of constant voltage gives in there and holds the current. on_share is for
    periods that are short against the coil's warming: only the mean power counts. series_resistance and
    reactance, ohm: what stands in a sine's way besides the copper's resistance, however warm it is.
    """

    voltage: float | None = None
    current: float | None = None
    current_limit: float | None = None
    on_share: float = 1.0
    series_resistance: float = 0.0
    reactance: float = 0.0

    def __post_init__(self) -> None:
        if (self.voltage is None) == (self.current is None):
            raise ValueError("one of voltage and current")
        if self.current_limit is not None:
            if self.voltage is None:
                raise ValueError("a current limit belongs to a voltage")
            _positive(current_limit=self.current_limit)
        if not 0 < self.on_share <= 1:
            raise ValueError("on_share lies over 0 and up to 1")

    def through(self, resistance: float) -> float:
        """Current while on through a resistance in ohm, A."""
        if self.voltage is None:
            assert self.current is not None
            return self.current
        current = self.voltage / self.impedance(resistance)
        return current if self.current_limit is None else min(current, self.current_limit)

    def impedance(self, resistance: float) -> float:
        """Of the copper's resistance with all that stands in series, ohm."""
        return math.hypot(resistance + self.series_resistance, self.reactance)

    def holds_current(self, resistance: float) -> bool:
        """Whether a small change of the resistance, ohm, leaves the current as it is."""
        return self.voltage is None or self.through(resistance) < self.voltage / self.impedance(resistance)

    def falling(self, resistance: float) -> float:
        """What a growing resistance takes from the current, as a share of it, 1/ohm."""
        if self.holds_current(resistance):
            return 0.0
        return (resistance + self.series_resistance) / self.impedance(resistance) ** 2

    def scaled(self, factor: float) -> "Supply":
        """The same with its level times a factor."""
        levels = {"voltage": self.voltage, "current": self.current, "current_limit": self.current_limit}
        return replace(self, **{name: level * factor for name, level in levels.items() if level is not None})


def bounded(assembly: Assembly, *, air: int | None = None, joints: int | None = None) -> Assembly:
    """The same at an end of a band, 0 the least and 1 the most: of convection, of contact resistances."""
    found = assembly if air is None else _aired(assembly, assembly.surroundings.convection_band[air])
    if joints is None:
        return found
    return replace(found, top=_joined(found.top, joints), bottom=_joined(found.bottom, joints))


def _aired(assembly: Assembly, factor: float) -> Assembly:
    air = replace(assembly.surroundings, convection_factor=factor, convection_band=(factor, factor))
    return replace(assembly, surroundings=air)


def _joined(plate: MountedPlate | None, end: int) -> MountedPlate | None:
    if plate is None:
        return None
    contact = plate.contact_range[end]
    return replace(plate, contact=contact, contact_band=(contact, contact))


def _positive(**values: float) -> None:
    for name, value in values.items():
        if not 0 < value < math.inf:
            raise ValueError(f"{name} must be positive")


def _not_negative(**values: float) -> None:
    for name, value in values.items():
        if not 0 <= value < math.inf:
            raise ValueError(f"{name} must not be negative")


def _share(**values: float) -> None:
    for name, value in values.items():
        if not 0 <= value <= 1:
            raise ValueError(f"{name} lies from 0 to 1")
