"""A board of one winding, of several or of an array, composed from the tables of a design file."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from coilgen.design.agreement import layers_fit
from coilgen.design.arrays import (
    ONE_WINDING,
    Array,
    lacks_angle,
    of_one_coil,
    placements,
    ring_faults,
    usual_outline,
    with_order,
    with_wedge_angle,
)
from coilgen.design.drive import ALL_IDLE
from coilgen.design.flexing import OPEN_COILS, WITHIN_THE_RING, pins, shared_faults
from coilgen.design.keys import SI
from coilgen.design.mover import IN_THE_WAY, SIX_STEPS_ONLY, THROUGH_PLATE, WITHOUT_ARRAY, mover_faults
from coilgen.design.phase_drive import of_coil
from coilgen.design.placing import PlacedWinding, asked, layer_faults, placed, repeated, with_stackup
from coilgen.design.validation_messages import first_of
from coilgen.design.winding import SeveralWindings
from coilgen.errors import Fault

if TYPE_CHECKING:
    from coilgen.design.design import Design

    Read = tuple[Design | None, tuple[Fault, ...]]
    """A design, or none and what is wrong with its tables."""


_SOME_WEDGES = 9
"""Taken where faults leave an array's number open, so that a wedge's own faults are told beside them."""


def valid(model: "type[Design]", given: Mapping[str, object]) -> "Read":
    """The design of a file's tables without variants, or None and every fault in them."""
    design, told = _any(model, given)
    if design is not None:
        told = (*_idle(design), *(_without_array(design) if design.array is None else ()))
    return (None if told else design), told


def _any(model: "type[Design]", given: Mapping[str, object]) -> "Read":
    """A design of one winding, of several, or of an array."""
    windings = given.get("winding")
    shared = {key: value for key, value in given.items() if key != "winding"}
    if isinstance(windings, list | tuple):
        if "array" in given:
            return None, (Fault(key="array", says=ONE_WINDING),)
        return _several(model, windings, shared)
    if "array" in given and isinstance(windings, Mapping):
        return _array(model, windings, shared)
    design, told = model.validated(given)
    if "mover" in given and design is None:
        told = first_of((*told, Fault(key="mover", says=WITHOUT_ARRAY)))
    return design, told


def _array(model: "type[Design]", winding: Mapping[str, object], shared: Mapping[str, object]) -> "Read":
    """A board of an array: one winding, a design by itself, at many places."""
    shared = with_stackup(shared, [winding], outline=usual_outline(shared["array"]))
    design, told = model.validated({**shared, "winding": SeveralWindings.stand_in()})
    own, faults_of_own = _one_of(model, winding, shared, None if design is None else design.array)
    found = list(dict.fromkeys([*faults_of_own, *told]))
    if design is not None and own is not None and design.array is not None and not found:
        found = [*ring_faults(design.array, own), *layers_fit(own.winding, design.board.stackup)]
        found += _of_mover(design, design.array)
        found += _tail_of_array(design, design.array)
    if design is None or own is None or design.array is None or found:
        return None, first_of(found)
    array = with_order(design.array, shared.get("mover"))
    coils = placements(array, _beside_mover(of_one_coil(array, own), design, array))
    return design.unchecked(array=array).composed(coils, {**shared, "winding": winding}), ()


def _one_of(
    model: "type[Design]", winding: Mapping[str, object], shared: Mapping[str, object], array: Array | None
) -> "Read":
    """The own design of the coil that an array repeats; a wedge has its angle by their number."""
    if not lacks_angle(winding, shared["array"]):
        return model.validated(repeated(winding, shared))
    count = _SOME_WEDGES if array is None else array.number or _SOME_WEDGES
    narrow = {**winding, "angle": SI(0.9 * math.tau / count)}
    design, told = model.validated(repeated(narrow, shared))
    if design is None or array is None:
        return None, told
    spacing = max(design.winding.trace_spacing, design.rules.limit("trace_spacing"))
    return model.validated(repeated(with_wedge_angle(winding, array, spacing), shared))


def _several(model: "type[Design]", given: Sequence[object], shared: Mapping[str, object]) -> "Read":
    """A board of several windings: each is a design by itself, and what they share is another."""
    shared = with_stackup(shared, given)
    found, told = asked(given, shared)
    windings = []
    for each in found:
        own, faults_of_own = model.validated(each.tables)
        told += [each.told(fault) for fault in faults_of_own]
        if own is not None:
            windings.append(placed(each, own))
            told += layer_faults(windings[-1], each.number, own.board.stackup.layers)
    design, faults_of_board = model.validated(
        {**_with_central_pocket(shared, windings), "winding": SeveralWindings.stand_in()}
    )
    told = list(dict.fromkeys([*told, *faults_of_board]))
    if design is not None and design.tail is not None:
        told += shared_faults(design.tail, design.terminals, 2 * len(given))
    if design is None or told:
        return None, first_of(told)
    return design.composed(
        (_toward_tail(each, design) for each in windings), {**shared, "winding": given}
    ), ()


def _idle(design: "Design") -> Iterator[Fault]:
    """A board that nothing drives."""
    several = design.windings if design.array is None else ()
    drives = [each.design.drive for each in several] or [design.drive]
    if all(drive.idle for drive in drives):
        yield Fault(key="winding 1.drive.current" if several else "drive.current", says=ALL_IDLE)


def _without_array(design: "Design") -> Iterator[Fault]:
    """A mover, or what only a mover has, of a board without an array."""
    if design.mover is not None:
        yield Fault(key="mover", says=WITHOUT_ARRAY)
    drives = [("drive", design.drive)]
    drives += [(f"winding {k}.drive", each.design.drive) for k, each in enumerate(design.windings, start=1)]
    for key, drive in drives:
        if drive.waveform == "six-step" and design.mover is None:
            yield Fault(key=f"{key}.waveform", says=SIX_STEPS_ONLY)


def _tail_of_array(design: "Design", array: Array) -> list[Fault]:
    """What of an array's tail cannot be."""
    if design.tail is None:
        return []
    if not array.joined:
        return [Fault(key="tail", says=OPEN_COILS)]
    if array.joints == "inside":
        return [Fault(key="array.joints", says=WITHIN_THE_RING)]
    count = array.phase_count * (2 if array.connection == "open" else 1)
    return list(shared_faults(design.tail, design.terminals, count))


def _toward_tail(winding: PlacedWinding, design: "Design") -> PlacedWinding:
    """One of several windings, with pins in place of terminals where these stand at a tail's end."""
    if design.tail is None:
        return winding
    terminals = pins(winding.design, design.terminals.lead_width)
    return replace(winding, design=winding.design.unchecked(terminals=terminals), on_tail=True)


def _of_mover(design: "Design", array: Array) -> list[Fault]:
    """What of an array's design does not go with its mover, or without one."""
    if design.mover is None:
        six_steps = design.drive.waveform == "six-step"
        return [Fault(key="drive.waveform", says=SIX_STEPS_ONLY)] if six_steps else []
    others = {"magnet": design.magnet, "target": design.target}
    between = [
        Fault(key=f"core {number}.place", says=IN_THE_WAY.format(core.place))
        for number, core in enumerate(design.core, start=1)
        if core.place in design.mover.faces
    ]
    plate = design.mounting.base_plate
    return [
        *between,
        *_through_plates(design),
        *mover_faults(design.mover, array.arrangement, array.phase_count, design.drive, plate, others),
    ]


def _through_plates(design: "Design") -> Iterator[Fault]:
    """Cores of the coils that reach into plates behind them."""
    stood = list(enumerate(zip(design.core, design.stand.standing, strict=True), start=1))
    for number, (core, own) in stood:
        for other, (plate, its) in stood:
            through = own.bottom < its.top if plate.place == "bottom" else own.top > its.bottom
            if core.place == "pocket" and plate.place != "pocket" and through:
                yield Fault(key=f"core {number}.rise", says=THROUGH_PLATE.format(other))


def _beside_mover(coil: "Design", design: "Design", array: Array) -> "Design":
    """A coil's own design, driven as warm as in its phase where a mover passes."""
    if design.mover is None or array.number is None:
        return coil
    own = array.number // array.phase_count
    in_series, in_parallel = (1, own) if array.coils == "parallel" else (own, 1)
    return coil.unchecked(
        drive=of_coil(design.drive, array.phase_count, array.connection, in_series, in_parallel)
    )


def _with_central_pocket(
    shared: Mapping[str, object], windings: Sequence[PlacedWinding]
) -> Mapping[str, object]:
    """The board's tables with the pocket of the winding at its centre, into which cores may go."""
    central = [each.design.pocket for each in windings if each.centre == 0 and each.design.pocket]
    kept = {key: value for key, value in shared.items() if key != "pocket"}
    return {**kept, "pocket": central[0]} if central else kept
