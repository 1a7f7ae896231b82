"""Room for several windings: none wants the turns' place of another, none lies off the board."""

import math
from collections.abc import Iterator, Sequence

from coilgen.design.design import Design
from coilgen.design.placing import PlacedWinding
from coilgen.errors import DesignError, Fault
from coilgen.geometry.isometry import Isometry
from coilgen.geometry.path import Path
from coilgen.geometry.ring import Ring, disc_over, over, overlap, way_apart
from coilgen.layout.crowding import crowded
from coilgen.layout.seen import copper_edges
from coilgen.units import in_mm

_NEXT_TO_NOTHING = 1e-9
"""m."""
_TOLD = 3
"""So many of those that a winding lies over are named one by one."""


def refuse_without_room(design: Design, outline: Path | None) -> None:
    """Raises DesignError for windings of a board that lie over one another, and for those off the board.

    Turns alone count: a lead or a pad of one in the way of another is a finding. outline: None for no edge.
    """
    turns = [turns_of(each) for each in design.windings]
    faults = [*(_over_another if design.array is None else crowded)(design, turns)]
    if outline is not None:
        faults += _off_the_board(design, turns, outline)
    if faults:
        raise DesignError(faults)


def refuse_holes_off_the_board(design: Design, outline: Path | None) -> None:
    """Raises DesignError for holes of the design that reach over the board's edge. outline: None for none."""
    if outline is None:
        return
    faults = []
    for number, hole in enumerate(design.hole, start=1):
        beyond = disc_over(complex(*hole.at), hole.diameter / 2, outline)
        if beyond > _NEXT_TO_NOTHING:
            says = (
                f"the hole reaches {in_mm(_up(beyond))} over the board's edge: move it in, or make the board "
                "larger"
            )
            faults.append(Fault(key=f"hole {number}.at", says=says))
    if faults:
        raise DesignError(faults)


def turns_of(placed: PlacedWinding) -> Ring:
    """Where a winding's turns lie on the board, between the edges of their copper."""
    ring = Ring(*copper_edges(placed.design))
    return ring.moved(Isometry.placed(placed.rotation, placed.centre))


def _over_another(design: Design, turns: Sequence[Ring]) -> Iterator[Fault]:
    """One for each winding that wants the copper of some before it."""
    for k, other in enumerate(design.windings):
        under = [
            j
            for j, one in enumerate(design.windings[:k])
            if {*one.copper_layers} & {*other.copper_layers} and overlap(turns[j], turns[k])
        ]
        if under:
            yield Fault(key=f"winding {k + 1}.centre", says=_wants(design, turns, under, k))


def _wants(design: Design, turns: Sequence[Ring], under: Sequence[int], k: int) -> str:
    """With the place that is far enough from the first of them."""
    one, other = design.windings[under[0]], design.windings[k]
    layers = sorted(
        {*other.copper_layers} & {layer for j in under for layer in design.windings[j].copper_layers}
    )
    apart = other.centre - one.centre
    spacing = design.rules.limit("trace_spacing")
    further = _up(way_apart(turns[under[0]], turns[k], apart or 1 + 0j) + spacing)
    names = [design.windings[j].name for j in under]
    told = " and ".join(names[:_TOLD]) + (f" and {len(names) - _TOLD} more" if len(names) > _TOLD else "")
    area = sum(overlap(turns[j], turns[k]) for j in under)
    return (
        f"{other.name} wants the copper of {told} on copper layer{'s' * (len(layers) > 1)} "
        f"{' and '.join(map(str, layers))}, over {area * 1e6:.3g} mm²: move it {in_mm(further)} or more "
        f"{'away from' if apart else 'to a side of'} {one.name}, besides what pads and leads need, "
        "or give it other copper_layers"
    )


def _off_the_board(design: Design, turns: Sequence[Ring], outline: Path) -> Iterator[Fault]:
    margin = design.rules.limit("copper_to_edge")
    if design.array is not None:
        yield from _array_off_the_board([over(ring, outline) for ring in turns], margin)
        return
    for number, (each, ring) in enumerate(zip(design.windings, turns, strict=True), start=1):
        beyond = over(ring, outline)
        if beyond:
            says = (
                f"{each.name} reaches {in_mm(_up(beyond))} over the board's edge: move it in by "
                f"{in_mm(_up(beyond + margin))} or more, or make the board larger"
            )
            yield Fault(key=f"winding {number}.centre", says=says)


def _array_off_the_board(beyond: Sequence[float], margin: float) -> Iterator[Fault]:
    """One for all coils of an array, whose places follow from one another."""
    farthest = max(beyond)
    if farthest:
        larger = in_mm(_up(2 * (farthest + margin)))
        says = (
            f"coils reach {in_mm(_up(farthest))} over its edge: make it {larger} larger across (size, or "
            "width and height), besides what pads and joints need, or leave its size out"
        )
        yield Fault(key="board", says=says)


def _up(length: float) -> float:
    """To the next hundredth of a millimetre."""
    return math.ceil(length * 1e5 - 1e-6) / 1e5
