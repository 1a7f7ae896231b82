"""Openings in the mask reach past their pads far enough to bare them whole, and bare nothing else."""

from collections.abc import Iterable

import numpy as np

from coilgen.artwork.art import Art, Opening
from coilgen.artwork.copper_pieces import COINCIDENT, Copper, copper
from coilgen.artwork.gaps import unjoined_gaps
from coilgen.design.design import Design
from coilgen.geometry.clearance import Gaps
from coilgen.layout.coil import Coil
from coilgen.result.rule import Finding, Rule
from coilgen.rules._places import Place, places, short_lengths
from coilgen.units import in_mm, measured_mm


def check(design: Design, coil: Coil, art: Art) -> Iterable[Finding]:
    """Narrow openings, but for pads that coverlay holds; then openings that bare other copper."""
    limit, held = design.rules.limit("mask_opening"), design.rules.limit("coverlay_hold") > 0
    narrow = places(
        Place(value=(opening.diameter - pad.diameter) / 2, at=opening.at, layer=pad.layer)
        for opening in art.openings
        for pad in art.pads_on(_layer(art, opening))
        if abs(pad.at - opening.at) <= COINCIDENT and not (held and pad.terminal)
    )
    yield from short_lengths("mask_opening", limit, narrow, lambda place: _narrow(place, limit))
    yield from short_lengths("mask_opening", 0.0, places(_bared(art)), _wide)


def _layer(art: Art, opening: Opening) -> int:
    return 1 if opening.side == "top" else art.copper_layers


def _bared(art: Art) -> Iterable[Place]:
    """How far each opening stays clear of copper that is not joined to its pad, where it does not."""
    board = copper(art)
    margin = max(((opening.diameter - _least_pad(art, opening)) / 2 for opening in art.openings), default=0.0)
    if margin <= 0:
        return
    near = unjoined_gaps(board, margin, board.terminal > 0)
    for opening in art.openings:
        yield from _under(board, near, opening, _layer(art, opening))


def _least_pad(art: Art, opening: Opening) -> float:
    pads = [
        pad.diameter for pad in art.pads_on(_layer(art, opening)) if abs(pad.at - opening.at) <= COINCIDENT
    ]
    return min(pads, default=opening.diameter)


def _under(board: Copper, near: Gaps, opening: Opening, layer: int) -> Iterable[Place]:
    strokes = board.strokes
    own = board.disc & (np.abs(strokes.pieces.start - opening.at) <= COINCIDENT) & (strokes.sheet == layer)
    for side in (near.first, near.second):
        for k in np.flatnonzero(own[side]):
            margin = (opening.diameter - float(strokes.width[side[k]])) / 2
            yield Place(value=float(near.value[k]) - margin, at=complex(near.at[k]), layer=layer)


def _narrow(place: Place, limit: float) -> str:
    return (
        f"The opening reaches {measured_mm(place.value, limit)} past its pad on each side, under "
        f"{in_mm(limit)}: raise rules.mask_opening to what the shop needs."
    )


def _wide(place: Place) -> str:
    return (
        f"An opening in the mask bares {measured_mm(-place.value)} of copper beside its pad: "
        "move the lead away, make terminals.pad smaller, or lower rules.mask_opening."
    )


RULE = Rule(
    name="mask_opening",
    says="least margin of an opening round its pad, baring nothing else",
    unit="m",
    check=check,
)
