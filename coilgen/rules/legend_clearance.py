"""Printed ink stays on the board, and off holes and what the mask leaves bare."""

from collections.abc import Iterable, Iterator
from functools import partial

import numpy as np

from coilgen.artwork.art import Art, Hole, Opening
from coilgen.design.design import Design
from coilgen.geometry.clearance import Strokes, gaps, near_pairs_between
from coilgen.geometry.distance import pieces
from coilgen.layout.coil import Coil
from coilgen.result.rule import Finding, Rule
from coilgen.rules._boundary import near_boundary
from coilgen.rules._places import TOLERANCE, Place, Places, short_lengths
from coilgen.units import in_mm, measured_mm


def check(design: Design, coil: Coil, art: Art) -> Iterable[Finding]:
    """Ink near or over the board's edge, the pocket, holes and openings of the top."""
    limit, ink = design.rules.limit("legend_clearance"), _ink(art)
    for what, found in _near(art, ink, limit):
        yield from short_lengths("legend_clearance", limit, found, partial(_says, what, limit))


def _near(art: Art, ink: Strokes, limit: float) -> Iterator[tuple[str, Places]]:
    if art.outline is not None:
        yield "the board's edge", near_boundary(ink, art.outline, limit, inside=True)
    for pocket in art.pockets:
        yield "the pocket", near_boundary(ink, pocket, limit, inside=False)
    yield "a hole", _near_discs(ink, art.holes, limit)
    bare = [each for each in art.openings if each.side == "top"]
    yield "bare copper", _near_discs(ink, [each for each in bare if each.window is None], limit)
    for each in bare:
        if each.window is not None:
            yield "contact fingers", near_boundary(ink, each.window, limit, inside=False)


def _ink(art: Art) -> Strokes:
    """All printed lines, of the top layer."""
    lines = [(segment, stroke.width) for stroke in art.legend for segment in stroke.path.segments]
    return Strokes(
        pieces=pieces([segment for segment, _ in lines]),
        width=np.array([width for _, width in lines], float),
        sheet=np.ones(len(lines), np.intp),
    )


def _near_discs(ink: Strokes, discs: Iterable[Hole | Opening], limit: float) -> Places:
    round_ones = list(discs)
    others = Strokes(
        pieces=pieces([disc.at for disc in round_ones]),
        width=np.array([disc.diameter for disc in round_ones], float),
        sheet=np.ones(len(round_ones), np.intp),
    )
    near = gaps(ink, others, near_pairs_between(ink, others, limit - TOLERANCE))
    return Places(
        value=near.value,
        layer=ink.sheet[near.first],
        at=near.at,
        kind=np.zeros(len(near), np.intp),
    )


def _says(what: str, limit: float, place: Place) -> str:
    where = (
        f"{measured_mm(-place.value)} over" if place.value < 0 else f"{measured_mm(place.value, limit)} from"
    )
    return f"Printed ink is {where} {what}, under {in_mm(limit)}: enlarge the board, or shorten the name."


RULE = Rule(
    name="legend_clearance",
    says="least distance of printed ink to mask openings, holes and edges",
    unit="m",
    check=check,
)
