"""Phases of an array: their resistances and inductances, and what a meter reads between two terminals."""

from collections.abc import Iterator

import numpy as np

from coilgen.design.phases import LETTERS
from coilgen.figures.several._joint_flux import joint_flux
from coilgen.figures.several._linkage import inductance_matrix
from coilgen.figures.several._network import amplitudes, joints_heat, joints_of, line_flows, phase_flows
from coilgen.figures.several.coupling_in_place import added_spreads
from coilgen.layout.joint_network import Flow
from coilgen.physics.base.conductor import Floats
from coilgen.result.figure import Answer, Case, Quantity
from coilgen.result.spread import Spread, carried

_UNEVEN = 0.1
"""Of a current, by which coils or tracks may differ before it is told."""
_JOINED = "coils and joints as they are laid out, direct current"
_RESONANCE = (
    "capacitance is told of each coil (winding_capacitance): coils alike, in series or side by side, "
    "resonate about where one does by itself (self_resonance); capacitances between coils and of their "
    "joints, which lower it, are not told"
)
_OPEN = "the coils of a phase in series, by its order, though nothing joins them on the board"


def way_of_current(case: Case) -> str:
    """How current goes through the array, in words."""
    return _JOINED if case.design.array is not None and case.design.array.joined else _OPEN


def letters(case: Case) -> tuple[str, ...]:
    """Names of the phases."""
    assert case.design.array is not None
    return tuple(LETTERS[: case.design.array.phase_count])


def _phase_resistances(case: Case) -> Answer | None:
    if case.design.array is None:
        return None
    return Answer(
        value=[flow.resistance for flow in phase_flows(case)],
        model=f"{way_of_current(case)}, at 20 degC; of a star to the middle of its point",
        labels=letters(case),
        cautions=tuple(_of_joints(case)),
    )


def _of_joints(case: Case) -> Iterator[str]:
    """What the tracks that join coils take, where that is worth a wider one."""
    array = case.design.array
    assert array is not None
    if not array.joined:
        return
    coils, runs, _ = amplitudes(case)
    yield (
        f"Tracks that join coils make {100 * joints_heat(case):.2g} % of the coils' heat; temperatures count "
        "it where they lie, spread over a millimetre or so."
    )
    if coils.max() - coils.min() > _UNEVEN:
        yield (
            f"Coils side by side carry {coils.min():.2f} to {coils.max():.2f} times their equal share, as "
            "their joints resist; winding_currents and temperatures tell the equal share. Raise "
            "array.joint_width."
        )
    yield from _crowded(case, runs)


def _crowded(case: Case, runs: Floats) -> Iterator[str]:
    """Tracks in which the current is denser than in the coils."""
    own, copper = case.windings[0].case, case.design.board.stackup.copper
    dense = [
        float(run) / (piece.trace.width * copper[piece.trace.layer - 1])
        for run, piece in zip(runs, joints_of(case).pieces, strict=True)
    ]
    in_coil = max(
        share / (trace.width * copper[trace.layer - 1])
        for share, trace in zip(own.shares, own.coil.traces, strict=True)
    )
    times = max(dense) / in_coil
    if times > 1 + _UNEVEN:
        width = max(piece.trace.width for piece in joints_of(case).pieces) * times
        yield (
            f"Current in the tracks that join coils is up to {times:.2g} times as dense as in the coils', so "
            f"they may be the hottest copper: array.joint_width = {width * 1e3:.2g} mm would carry it as "
            "densely as the coils do."
        )


def _phase_inductances(case: Case) -> Answer | None:
    if case.design.array is None:
        return None
    flows = phase_flows(case)
    return Answer(
        value=[[mutual(case, one, other) for other in flows] for one in flows],
        model=f"self and mutual inductances of {way_of_current(case)}; no core or metal near; {_RESONANCE}",
        labels=letters(case),
        cautions=_with_bodies(case),
    )


def _with_bodies(case: Case) -> tuple[str, ...]:
    if not (case.design.core or case.design.target):
        return ()
    lines = case.design.array is not None and case.design.array.connection != "open"
    names = ("phase_inductance_matrix", *(("line_inductance",) if lines else ()))
    placed = " and ".join(f"{name}_in_place" for name in names)
    return (
        f"{' and '.join(names)} {'are' if lines else 'is'} of the bare board: {placed} and the values of "
        "phase_bands are with what stands at it.",
    )


def mutual(case: Case, one: Flow, other: Flow) -> float:
    """H, between two ways of one ampere through the array, its coils bare."""
    between: Floats = one.coils @ inductance_matrix(case) @ other.coils
    return float(between) + joint_flux(case, one, other)


def _line_resistances(case: Case) -> Answer | None:
    if case.design.array is None or case.design.array.connection == "open":
        return None
    found = line_flows(case)
    return Answer(
        value=[flow.resistance for flow in found.values()],
        model=f"between two terminals, {_JOINED}, at 20 degC",
        labels=tuple(f"{one}-{other}" for one, other in found),
    )


def _line_inductances(case: Case) -> Answer | None:
    if case.design.array is None or case.design.array.connection == "open":
        return None
    found = line_flows(case)
    return Answer(
        value=[mutual(case, flow, flow) for flow in found.values()],
        model=f"between two terminals, {_JOINED}; no core or metal near",
        labels=tuple(f"{one}-{other}" for one, other in found),
    )


def _bands(case: Case) -> Answer | None:
    """What a meter reads of phases and between terminals, with the bands of the coils' own values."""
    array = case.design.array
    if array is None:
        return None
    flows = dict(zip(letters(case), phase_flows(case), strict=True))
    if array.connection != "open":
        flows |= {f"{one}-{other}": flow for (one, other), flow in line_flows(case).items()}
    ohm, henry = (case.windings[0].case.spread(name) for name in ("resistance_20c", "inductance"))
    placed = bool(case.design.core or case.design.target)
    found = dict(zip(flows, _inductances(case, tuple(flows.values()), henry, placed), strict=True))
    widest = max(found.values(), key=lambda each: each.band[1] / each.band[0])
    return Answer(
        value=[
            {
                "between": between,
                **_ended("resistance", flow.resistance, ohm),
                **_ended("inductance", found[between].value, found[between]),
            }
            for between, flow in flows.items()
        ],
        model=f"{way_of_current(case)}, at 20 degC; bands as wide as those of a coil alone, resistance by "
        f"{_causes(ohm)}, inductance{' with cores and target' * placed} by "
        f"{_causes(widest)}: copper of one board is made alike",
    )


def _inductances(case: Case, flows: tuple[Flow, ...], coil: Spread, placed: bool) -> list[Spread]:
    """Of ways through the array; coil: a coil's own; placed: with cores and target."""

    def scaled(flow: Flow) -> Spread:
        bare = mutual(case, flow, flow)
        return carried(lambda henry: henry / coil.value * bare, coil)

    own = [scaled(flow) for flow in flows]
    if not placed:
        return own
    added = added_spreads(case, np.array([flow.coils for flow in flows]), "phase_bands")
    return [carried(lambda one, more: one + more, *each) for each in zip(own, added, strict=True)]


def _ended(name: str, value: float, coil: Spread) -> dict[str, float]:
    """A value with the ends of its band: as a coil's over its own."""
    low, high = (end / coil.value * value for end in coil.band)
    return {name: float(value), f"{name}_low": float(low), f"{name}_high": float(high)}


def _causes(spread: Spread) -> str:
    """The two largest in words."""
    found = [source for source, _, _ in spread.contributions[:2]]
    return " and ".join(found) if found else "nothing"


def _coils(case: Case) -> Answer | None:
    array = case.design.array
    if array is None:
        return None
    rows = [
        {
            "coil": each.name,
            "phase": LETTERS[each.phase],
            "sense": each.sense,
            "x": each.centre.real,
            "y": each.centre.imag,
            "rotation": float(each.rotation),
        }
        for each in case.design.windings
    ]
    return Answer(value=rows, model=f"phase order {array.phase_order}; sense -1: joined the other way round")


FIGURES = (
    Quantity(
        name="coil_phases",
        unit="table(coil, phase, sense 1, x m, y m, rotation deg)",
        says="which phase each coil belongs to, which way round, and where it lies",
        group="winding",
        compute=_coils,
        of="several",
    ),
    Quantity(
        name="phase_resistance",
        unit="ohm",
        says="resistances of the phases at 20 degC",
        group="electrical",
        compute=_phase_resistances,
        of="several",
    ),
    Quantity(
        name="phase_inductance_matrix",
        unit="H",
        says="self and mutual inductances of the phases",
        group="electrical",
        compute=_phase_inductances,
        of="several",
    ),
    Quantity(
        name="phase_bands",
        unit="table(between, resistance ohm, resistance_low ohm, resistance_high ohm, inductance H, "
        "inductance_low H, inductance_high H)",
        says="what a meter may read of each phase and between terminals, with bands",
        group="electrical",
        compute=_bands,
        of="several",
    ),
    Quantity(
        name="line_resistance",
        unit="ohm",
        says="resistance between each two terminals at 20 degC",
        group="electrical",
        compute=_line_resistances,
        of="several",
    ),
    Quantity(
        name="line_inductance",
        unit="H",
        says="inductance between each two terminals: what a meter reads",
        group="electrical",
        compute=_line_inductances,
        of="several",
    ),
)
