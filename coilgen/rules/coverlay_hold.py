"""On a flexible board the coverlay holds the edge of pads to be soldered, and leaves enough of them bare."""

from collections.abc import Iterable, Iterator

import numpy as np

from coilgen.artwork.art import Art, Opening
from coilgen.artwork.copper_pieces import COINCIDENT
from coilgen.design.design import Design
from coilgen.geometry.containment import contains
from coilgen.layout.coil import Coil, Terminal
from coilgen.result.rule import Finding, Rule
from coilgen.rules._places import Place, places, short_lengths
from coilgen.units import in_mm, measured_mm


def check(design: Design, coil: Coil, art: Art) -> Iterable[Finding]:
    """Pads held too little, then pads with too little bare copper round their hole."""
    hold, ring = design.rules.limit("coverlay_hold"), design.rules.limit("annular_ring")
    if not hold:
        return
    opened = tuple(_opened(coil, art))
    held = (_place(art, opening, (terminal.pad - opening.diameter) / 2) for opening, terminal in opened)
    yield from short_lengths("coverlay_hold", hold, places(held), lambda place: _loose(place, hold))
    bare = (_place(art, opening, (opening.diameter - terminal.drill) / 2) for opening, terminal in opened)
    yield from short_lengths("coverlay_hold", ring, places(bare), lambda place: _narrow(place, ring))
    roots = places(_roots(art))
    yield from short_lengths("coverlay_hold", hold, roots, lambda place: _loose(place, hold))


def _opened(coil: Coil, art: Art) -> Iterator[tuple[Opening, Terminal]]:
    for opening in art.openings:
        for terminal in coil.terminals:
            if opening.window is None and abs(terminal.at - opening.at) <= COINCIDENT:
                yield opening, terminal


def _roots(art: Art) -> Iterator[Place]:
    """How far contact fingers go on under the coverlay, full width."""
    for opening in art.openings:
        for pad in art.pads_at(opening.side) if opening.window else ():
            root, tip = pad.at - pad.span / 2, pad.at + pad.span / 2
            if pad.span and contains(opening.path, np.array([tip]))[0]:
                under = min(piece.distance(root) for piece in opening.path.segments)
                held = -under if contains(opening.path, np.array([root]))[0] else under
                yield Place(value=held, at=root, layer=pad.layer)


def _place(art: Art, opening: Opening, value: float) -> Place:
    return Place(value=value, at=opening.at, layer=1 if opening.side == "top" else art.copper_layers)


def _loose(place: Place, limit: float) -> str:
    holds = (
        f"holds {measured_mm(place.value, limit)} of the pad's edge, under {in_mm(limit)}"
        if place.value > 0
        else f"ends {measured_mm(-place.value)} beside the pad's edge, of which it should hold {in_mm(limit)}"
    )
    return f"The coverlay {holds}: soldering may lift the pad; make the opening smaller or the pad larger."


def _narrow(place: Place, limit: float) -> str:
    return (
        f"The coverlay's opening leaves {measured_mm(place.value, limit)} of bare copper, under "
        f"{in_mm(limit)}: make terminals.pad larger, or lower rules.coverlay_hold."
    )


RULE = Rule(
    name="coverlay_hold",
    says="least hold of coverlay on the edge of a pad, with enough bare copper to solder",
    unit="m",
    check=check,
)
