"""What figures of cores and forces share: the bodies where they stand, and how these are magnetised."""

import math
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING

import numpy as np

from coilgen.design.bodies import POLES, Core, Magnet, Target
from coilgen.design.stacking import Stand, Standing
from coilgen.errors import UnsolvedError
from coilgen.figures.core._cells import cell_size, check_width
from coilgen.figures.field._paths import coils_path
from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.result.figure import Case
from coilgen.units import readable

if TYPE_CHECKING:
    from coilgen.physics.core.body import Body
    from coilgen.physics.core.effect import CoreEffect
    from coilgen.physics.core.load import FluxDensity
    from coilgen.physics.core.magnet_side import Magnet as SolverMagnet
    from coilgen.physics.core.magnetisation_curve import Curve
    from coilgen.physics.core.on_grid import SetUp
    from coilgen.physics.core.two_grids import TwoGrids

IMPLANT_LEVEL = 5e-4
"""T: static fields above it may disturb implanted devices (ICNIRP, Guidelines on limits of exposure to static
magnetic fields, Health Physics 96, 2009; value from memory)."""
IRON, MOST_IN_IRON = 2.15, 2.2
"""T: iron's saturation polarisation (Bozorth, Ferromagnetism, 1951, value from memory), and a flux density to
which that takes 40 kA/m."""
WITH_TARGET = 2.0
"""Cells beside a target over those for cores alone: its gap makes the work tenfold."""


@dataclass(frozen=True, kw_only=True)
class Placed:
    """What stands at the coil and acts magnetically: as the design tells it, or a little moved.

    target_off, magnet_off: m, by how much their gaps are wider than told.
    """

    stand: Stand
    target: Target | None
    magnet: Magnet | None
    target_off: float = 0.0
    magnet_off: float = 0.0

    @property
    def cores(self) -> "tuple[Body, ...]":
        """Where they stand, in the order of the stand's bodies; none without cores."""
        return tuple(
            _body(each.core, each.standing, (each.centre.real, each.centre.imag), each.turn)
            for each in self.stand.bodies
        )

    @property
    def held(self) -> "Body":
        """The target where it stands. Raises LookupError without one."""
        if self.target is None:
            raise LookupError("the design has no target")
        x, y = self.target.offset
        return _body(self.target, self.stand.of(self.target, self.target_off), (x, y))

    @property
    def bodies(self) -> "tuple[Body, ...]":
        """Cores and target, the target last."""
        return self.cores if self.target is None else (*self.cores, self.held)

    @property
    def pushed(self) -> "SolverMagnet":
        """The magnet where it stands, with its typical remanence. Raises LookupError without one."""
        from coilgen.physics.core.magnet_side import Magnet as SolverMagnet

        if self.magnet is None:
            raise LookupError("the design has no magnet")
        standing = self.stand.of(self.magnet, self.magnet_off)
        x, y = self.magnet.offset
        return SolverMagnet(
            form=self.magnet.form,
            size=self.magnet.size,
            height=self.magnet.thickness,
            remanence=self.magnet.remanences[1],
            hole=self.magnet.hole,
            pole=POLES[self.magnet.pole],
            centre=(x, y, (standing.bottom + standing.top) / 2),
        )

    @property
    def applied(self) -> "FluxDensity | None":
        """Flux density (n, 3) T of the magnet at points (n, 3) m; None without one."""
        from coilgen.physics.core.magnet_force import field_aside

        return None if self.magnet is None else field_aside(self.pushed)


def placed(case: Case) -> Placed:
    """As the design tells it."""
    design = case.design
    return Placed(stand=design.stand, target=design.target, magnet=design.magnet)


def core_bodies(case: Case) -> "tuple[Body, ...]":
    """The cores where they stand, in the order of the stand's bodies; none without cores."""
    return placed(case).cores


def core_curves(case: Case) -> "tuple[Curve, ...]":
    """A magnetisation curve for each body of the cores."""
    return tuple(each.core.material.curve for each in case.design.stand.bodies)


def over_iron(case: Case, peaks: Sequence[float], false: str) -> tuple[str, ...]:
    """A caution where bodies of cores (T, each) that are told never to saturate carry more than iron can.

    false: what is told wrongly then.
    """
    told = zip(case.design.stand.bodies, core_curves(case), peaks, strict=True)
    most = max((peak for _, curve, peak in told if curve.straight), default=0.0)
    if most <= MOST_IN_IRON:
        return ()
    return (
        f"{readable(most, 'T', 2)} is more than iron carries, which saturates at about {IRON} T: a core told "
        f"by a permeability alone never saturates, and {false} too high. Give its material a saturation.",
    )


def target_body(case: Case) -> "Body":
    """The target where it stands. Raises LookupError without one."""
    return placed(case).held


def _body(
    given: Core | Target, standing: Standing, centre: tuple[float, float] = (0.0, 0.0), turn: float = 0.0
) -> "Body":
    """turn: deg, counter-clockwise; whole quarter turns exchange the sizes."""
    from coilgen.physics.core.body import Body

    quarters, left = divmod(turn, 90.0)
    x, y = given.size
    return Body(
        form="plate" if given.form == "bar" else given.form,
        size=(y, x) if quarters % 2 else (x, y),
        turn=math.radians(left),
        thickness=given.thickness,
        bottom=standing.bottom,
        hole=given.hole,
        centre=centre,
    )


def magnet_for_solvers(case: Case) -> "SolverMagnet":
    """The magnet where it stands, with its typical remanence. Raises LookupError without one."""
    return placed(case).pushed


def magnet_field(case: Case) -> "FluxDensity | None":
    """Flux density (n, 3) T of the magnet where it stands, at points (n, 3) m; None without one."""
    return placed(case).applied


def core_effect(case: Case) -> "CoreEffect | None":
    """The cores, under the magnet, at the current while the drive is on, with the change at `axis_points`.

    Solved once, without the target. None without cores.
    """
    return case.once("core effect", lambda: _core_effect(case)) if case.design.core else None


def _core_effect(case: Case) -> "CoreEffect":
    return _effect(case, "core", _cores_on_grids(case))


def on_grids(case: Case) -> "TwoGrids[SetUp]":
    """Cores and target together on their grids, as the drive finds them."""
    if case.design.target is None:
        return _cores_on_grids(case)
    check_width("target", bodies_in_place(case)[0], cell_in_place(case) / case.coarser)
    return case.kept_last(_gridded_in_place)


def _cores_on_grids(case: Case) -> "TwoGrids[SetUp]":
    check_cores(case)
    return case.kept_last(_gridded_cores)


def _gridded_cores(case: Case) -> "TwoGrids[SetUp]":
    bodies = core_bodies(case)
    return _gridded(case, bodies, core_curves(case), case.coarser * cell_size(bodies))


def in_place(case: Case) -> "CoreEffect | None":
    """Cores and target together, under the magnet, otherwise as `core_effect`; None without both.

    The target is the last body.
    """
    if case.design.target is None:
        return core_effect(case)
    return case.once("in place", lambda: _in_place(case))


def _in_place(case: Case) -> "CoreEffect":
    return _effect(case, "target", on_grids(case))


def _gridded_in_place(case: Case) -> "TwoGrids[SetUp]":
    return _gridded(case, *bodies_in_place(case), cell_in_place(case))


def bodies_in_place(case: Case) -> "tuple[tuple[Body, ...], tuple[Curve, ...]]":
    """Cores and target where they stand, the target last, and their curves."""
    target, curves = case.design.target, core_curves(case)
    return placed(case).bodies, curves if target is None else (*curves, target.material.curve)


def cell_in_place(case: Case) -> float:
    """Width of the finer grid's cells with the target, m."""
    wider = 1.0 if case.design.target is None else WITH_TARGET
    return case.coarser * cell_size(bodies_in_place(case)[0], wider)


def _gridded(
    case: Case, bodies: "tuple[Body, ...]", curves: "tuple[Curve, ...]", cell: float
) -> "TwoGrids[SetUp]":
    from coilgen.physics.core.effect import on_two_grids

    return on_two_grids(coils_path(case), bodies, curves, cell, magnet_field(case))


def _effect(case: Case, key: str, gridded: "TwoGrids[SetUp]") -> "CoreEffect":
    from coilgen.physics.core.effect import effect_at

    with solvable(key):
        found = effect_at(gridded, case.value("current"), axis_points(case))
        if case.values_only:
            return found
        fields_alone = key == "core" and case.design.target is not None  # inductances are told with it
        return found.with_rough() if fields_alone else found.with_errors()


def check_cores(case: Case) -> None:
    """As `check_width`, of the cores alone."""
    bodies = core_bodies(case)
    check_width("core", bodies, cell_size(bodies))


@contextmanager
def solvable(key: str) -> Iterator[None]:
    """Bodies that no solver here can do are a fault of the design at a key, of what needs them alone."""
    from coilgen.physics.core.brick_grid import UnresolvedError
    from coilgen.physics.core.descent import NotConvergedError

    try:
        yield
    except (UnresolvedError, NotConvergedError) as error:
        says = f"cannot be computed: {error}; give it measures that differ less, or leave it out"
        raise UnsolvedError.at(key, says) from error


def crest(case: Case) -> float:
    """The drive's largest current over that for which fields are told: a sine is told by its mean square."""
    return math.sqrt(2) if case.design.drive.waveform == "sine" else 1.0


def axis_points(case: Case) -> Floats:
    """Probe heights on the axis counted from the outermost face of each side, top first, (n, 3) m."""
    heights, stand = np.array(case.design.probe.heights), case.design.stand
    levels = np.concatenate([stand.face("top") + heights, stand.face("bottom") - heights])
    return on_axis(case, levels)


def on_axis(case: Case, levels: Floats) -> Floats:
    """Points on the axis at heights, (n, 3) m."""
    across = np.broadcast_to([case.axis.real, case.axis.imag], (len(levels), 2))
    return np.column_stack([across, levels])


def axis_told(case: Case) -> str:
    """Which axis it is, where that is not the board's."""
    if case.design.array is not None:
        return f"over the middle of coil {case.windings[0].name}; "
    if not case.windings:
        return ""
    return (
        f"over the board's middle; per ampere of {case.reference.name}, the other currents in proportion, "
        "the band that of whichever varies most; "
    )


def counted(case: Case) -> str:
    """What `flux_density` counts and when, for the figures' models."""
    near = "winding and cores" if case.design.core else "closed-form Biot-Savart of all traces, no core near"
    return f"{near}{beside(case)}; at the current while the drive is on, copper at 20 degC"


def beside(case: Case) -> str:
    """How magnet and target count in the field of a coil with cores."""
    if not case.design.core:
        return ""
    magnet = "" if case.design.magnet is None else ", whose magnetisation by the magnet stays out"
    return magnet + ("" if case.design.target is None else ", the target away")
