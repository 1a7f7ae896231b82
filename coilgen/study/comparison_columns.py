"""What variants are compared by: each column reads one value of a case, and only the figures it needs."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from itertools import combinations
from typing import TYPE_CHECKING, Any, Literal

from coilgen.frozen import dataclass
from coilgen.study.windings import OF_WINDINGS, cell

if TYPE_CHECKING:
    from coilgen.design.design import Design
    from coilgen.result.figure import Case

Value = float | bool | None
"""What stands in a column of a row; None where it does not apply."""


@dataclass(frozen=True, kw_only=True)
class Column:
    """What is compared: its name, a head of one or two words for tables, its SI unit and meaning.

    Temperatures are in degC; a column of yes or no has an empty unit. best: which value a designer wants, the
    largest, the least or the largest in size; None where that depends on the purpose.
    """

    name: str
    head: str
    unit: str
    says: str
    read: Callable[[Case], Value]
    best: Literal["largest", "least", "largest in size", "least in size"] | None = None


def _figure(name: str) -> Callable[[Case], Value]:
    """Reads a figure with a single value."""

    def read(case: Case) -> Value:
        figure = case.figure(name)
        return None if figure is None else figure.value

    return read


def _current(case: Case) -> Value:
    """Of a board's one winding; each of several has its own column."""
    return None if case.windings else _figure("current")(case)


def _inductance(case: Case) -> Value:
    figure = case.figure("inductance_in_place") or case.figure("inductance")
    return None if figure is None else figure.value


def _flux_density(side: str) -> Callable[[Case], Value]:
    def read(case: Case) -> Value:
        with_core = case.figure("core_flux_density")
        rows = case.value("flux_density") if with_core is None else with_core.value
        return _at_first_height(case, rows, side, "flux_density")

    return read


def _ratio(side: str) -> Callable[[Case], Value]:
    def read(case: Case) -> Value:
        with_core = case.figure("core_flux_density")
        return None if with_core is None else _at_first_height(case, with_core.value, side, "ratio")

    return read


def _at_first_height(case: Case, rows: Iterable[Mapping[str, Any]], side: str, column: str) -> Value:
    """On a side, at the first probe height."""
    height = first_height(case.design)
    value: float = next(row[column] for row in rows if (row["side"], row["height"]) == (side, height))
    return value


def first_height(design: Design) -> float:
    """Where flux densities are compared, from the outermost face of each side, m."""
    return design.probe.heights[0]


def _saturated(case: Case) -> Value:
    """Of the core that is saturated most."""
    state = case.figure("core_state")
    return None if state is None else max(float(row["saturated"]) for row in state.value)


def _pulse_temperature(case: Case) -> Value:
    """Where a pulse is told: none is judged that nobody asks for."""
    return _figure("pulse_temperature")(case) if case.design.drive.pulsed else None


def _findings(case: Case) -> Value:
    from coilgen.study.evaluator import rules_broken

    return float(rules_broken(case))


def _lifts(case: Case) -> Value:
    margin = case.figure("lift_margin")
    return None if margin is None else bool(margin.value >= 1.0)


COLUMNS = (
    Column(
        name="inductance",
        head="L",
        unit="H",
        says="inductance with cores, target and magnet where they stand, at the drive current",
        read=_inductance,
    ),
    Column(
        name="flux_density_front",
        head="B front",
        unit="T",
        says="flux density on the axis in front of the outermost face on the top",
        read=_flux_density("top"),
    ),
    Column(
        name="flux_density_back",
        head="B back",
        unit="T",
        says="flux density on the axis behind the outermost face on the bottom",
        read=_flux_density("bottom"),
    ),
    Column(
        name="ratio_front",
        head="ratio front",
        unit="1",
        says="flux density in front to that of the coil without cores at the same place",
        read=_ratio("top"),
    ),
    Column(
        name="ratio_back",
        head="ratio back",
        unit="1",
        says="flux density behind to that of the coil without cores at the same place",
        read=_ratio("bottom"),
    ),
    Column(
        name="pull_on_target",
        head="pull",
        unit="N",
        says="pull on the target",
        read=_figure("pull_on_target"),
        best="largest",
    ),
    Column(
        name="lifts", head="lifts", unit="", says="whether the pull lifts what is to be held", read=_lifts
    ),
    Column(
        name="force_constant",
        head="per ampere",
        unit="N/A",
        says="force on the magnet that each ampere adds",
        read=_figure("force_constant"),
        best="largest in size",
    ),
    Column(
        name="force_on_magnet",
        head="force driven",
        unit="N",
        says="force on the magnet at the drive's current, up positive, rest included",
        read=_figure("force_on_magnet"),
    ),
    Column(
        name="force_reversed",
        head="force reversed",
        unit="N",
        says="force on the magnet with the current turned, up positive, rest included",
        read=_figure("force_reversed"),
    ),
    Column(
        name="force_at_rest",
        head="force at rest",
        unit="N",
        says="force on the magnet without current, up positive",
        read=_figure("force_at_rest"),
        best="least in size",
    ),
    Column(
        name="core_peak_flux_density",
        head="core B",
        unit="T",
        says="largest flux density in a core",
        read=_figure("core_peak_flux_density"),
    ),
    Column(
        name="core_saturated",
        head="core full",
        unit="1",
        says="share of the most saturated core that is saturated",
        read=_saturated,
        best="least",
    ),
    Column(
        name="core_mass",
        head="core mass",
        unit="kg",
        says="mass that the cores add",
        read=_figure("core_mass"),
        best="least",
    ),
    Column(
        name="resistance_20c",
        head="R",
        unit="ohm",
        says="resistance of the winding at 20 degC",
        read=_figure("resistance_20c"),
    ),
    Column(
        name="current",
        head="I",
        unit="A",
        says="current while the drive is on, cold",
        read=_current,
    ),
    Column(
        name="pulse_temperature",
        head="temp. pulse",
        unit="degC",
        says="temperature of the hottest copper after one pulse from cold, where drive.pulse is told",
        read=_pulse_temperature,
        best="least",
    ),
    Column(
        name="temperature",
        head="temp.",
        unit="degC",
        says="temperature of the hottest copper once the drive has settled, peaks included",
        read=_figure("temperature"),
        best="least",
    ),
    Column(
        name="rules_broken",
        head="rules broken",
        unit="1",
        says="places at which a spacing rule or another limit of the shop is broken",
        read=_findings,
        best="least",
    ),
)


_MOST_PAIRED = 4
"""Windings of which every two have a column for their coupling."""
_OF_EACH = (("R", "resistance_20c"), ("L", "inductance"), ("I", "current"), ("temp.", "temperature"))


def columns_of(designs: Iterable[Design]) -> tuple[Column, ...]:
    """The columns of designs: of boards of several windings also each winding's, and how each two couple.

    The coils of an array are alike: they have columns together, with those of phases and of the mover.
    """
    given = tuple(designs)
    names = tuple(
        dict.fromkeys(each.name for design in given if design.array is None for each in design.windings)
    )
    pairs = tuple(combinations(names, 2)) if len(names) <= _MOST_PAIRED else ()
    return (
        *COLUMNS,
        *_of_arrays(given),
        *(
            _of_winding(f"{OF_WINDINGS}.{name}.{figure}", f"{letter} {name}")
            for letter, figure in _OF_EACH
            for name in names
        ),
        *(_of_winding(f"coupling.{one}.{other}", f"k {one}-{other}") for one, other in pairs),
        *_with_bodies(given, names, pairs),
    )


def _with_bodies(
    designs: tuple[Design, ...], names: tuple[str, ...], pairs: tuple[tuple[str, str], ...]
) -> Iterator[Column]:
    """Inductances and couplings with cores and target, where a design has such."""
    if not any(design.core or design.target for design in designs):
        return
    for name in names:
        yield _of_winding(f"inductance_matrix_in_place.{name}.{name}", f"L {name} cores")
    for one, other in pairs:
        yield _of_winding(f"coupling_in_place.{one}.{other}", f"k {one}-{other} cores")


def _of_arrays(designs: tuple[Design, ...]) -> tuple[Column, ...]:
    """Columns of arrays where there are any; beside a mover a coil's current is that which warms it."""
    if all(design.array is None for design in designs):
        return ()
    if all(design.mover is None for design in designs):
        return _OF_ARRAYS
    return tuple(_EFFECTIVE if column.name == _EFFECTIVE.name else column for column in _OF_ARRAYS)


def _of_winding(name: str, head: str) -> Column:
    asked = cell(name)
    assert asked is not None
    return Column(name=name, head=head, unit=asked.unit, says=asked.says, read=asked.read)


def _of_coils(figure: str) -> Callable[[Case], Value]:
    """A figure of the coils of an array, which are alike."""

    def read(case: Case) -> Value:
        if case.design.array is None:
            return None
        found = case.windings[0].case.figure(figure)
        return None if found is None else found.value

    return read


def _in_place(case: Case) -> Value:
    """The largest self inductance of an array's coils with cores and target."""
    found = None if case.design.array is None else case.figure("inductance_matrix_in_place")
    return None if found is None else float(found.array.diagonal().max())


def _of_list(name: str, at: Callable[[list[float]], float]) -> Callable[[Case], Value]:
    """The value of a list that tells most."""

    def read(case: Case) -> Value:
        found = None if case.design.array is None else case.figure(name)
        return None if found is None else at(found.value)

    return read


_OF_MOVERS: tuple[tuple[str, str, str, str, Literal["largest", "least"]], ...] = (
    ("torque_constant", "torque per I", "N m/A", "torque over the phases' current", "largest"),
    ("thrust_constant", "thrust per I", "N/A", "thrust over the phases' current", "largest"),
    ("torque_ripple", "ripple", "1", "ripple of torque or thrust", "least"),
    ("cogging_torque", "cogging", "N m", "greatest cogging torque, without current", "least"),
    ("cogging_force", "cogging", "N", "greatest cogging force, without current", "least"),
    ("additional_cogging_torque", "uneven", "N m", "cogging torque that uneven cores add", "least"),
    ("additional_cogging_force", "uneven", "N", "cogging force that uneven cores add", "least"),
)
_OF_ARRAYS = (
    *(
        Column(name=f"coils.{name}", head=f"{head} coil", unit=unit, says=says, read=_of_coils(name))
        for name, head, unit, says in (
            ("resistance_20c", "R", "ohm", "resistance of each coil at 20 degC"),
            ("inductance", "L", "H", "self inductance of each coil"),
            ("current", "I", "A", "current of each coil, cold"),
        )
    ),
    Column(
        name="coils.inductance_in_place",
        head="L with cores",
        unit="H",
        says="self inductance of the coils with cores and target where they stand, the largest",
        read=_in_place,
    ),
    *(
        Column(name=name, head=head, unit=unit, says=f"{says}, the largest", read=_of_list(name, max))
        for name, head, unit, says in (
            ("phase_resistance", "R phase", "ohm", "resistance of the phases at 20 degC"),
            ("line_resistance", "R line", "ohm", "resistance between two terminals at 20 degC"),
            ("line_inductance", "L line", "H", "inductance between two terminals"),
            ("line_inductance_in_place", "line, cores", "H", "the same with cores and target"),
        )
    ),
    *(
        Column(name=name, head=head, unit=unit, says=says, read=_figure(name), best=best)
        for name, head, unit, says, best in _OF_MOVERS
    ),
)
"""Columns of arrays, in place of those of each winding."""
_EFFECTIVE = Column(
    name="coils.current",
    head="I coil, rms",
    unit="A",
    says="root mean square of each coil's current in its phase, mover held, cold",
    read=_of_coils("current"),
)
