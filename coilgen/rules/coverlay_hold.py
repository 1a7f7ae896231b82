"""On a flexible board the coverlay holds the edge of pads to be soldered, and leaves enough of them bare."""

from collections.abc import Iterable, Iterator

from coilgen.artwork.art import Art, Opening
from coilgen.artwork.copper_pieces import COINCIDENT
from coilgen.design.design import Design
from coilgen.layout.coil import Coil, Terminal
from coilgen.result.rule import Finding, Rule
from coilgen.rules._places import Place, places, short_lengths
from coilgen.units import in_mm


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


def _opened(coil: Coil, art: Art) -> Iterator[tuple[Opening, Terminal]]:
    for opening in art.openings:
        for terminal in coil.terminals:
            if abs(terminal.at - opening.at) <= COINCIDENT:
                yield opening, terminal


def _place(art: Art, opening: Opening, value: float) -> Place:
    return Place(value=value, at=opening.at, layer=1 if opening.side == "top" else art.copper_layers)


def _loose(place: Place, limit: float) -> str:
    return (
        f"The coverlay holds {in_mm(place.value)} of the pad's edge, under {in_mm(limit)}: soldering may "
        "lift the pad; make the opening smaller or the pad larger."
    )


def _narrow(place: Place, limit: float) -> str:
    return (
        f"The coverlay's opening leaves {in_mm(place.value)} of bare copper, under {in_mm(limit)}: make "
        "terminals.pad larger, or lower rules.coverlay_hold."
    )


RULE = Rule(
    name="coverlay_hold",
    says="least hold of coverlay on the edge of a pad, with enough bare copper to solder",
    unit="m",
    check=check,
)
