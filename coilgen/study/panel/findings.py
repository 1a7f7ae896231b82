"""What the rules find on a panel: on each board by itself, then between boards, to scores and to tabs."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace

import numpy as np

from coilgen.artwork.art import Hole
from coilgen.artwork.copper_pieces import copper
from coilgen.artwork.gaps import unjoined_gaps
from coilgen.design.paneling import fact
from coilgen.geometry.clearance import Strokes, gaps, near_pairs, near_pairs_between
from coilgen.geometry.distance import Index, Points, Reals, pieces
from coilgen.result.rule import Finding
from coilgen.rules._boundary import holes as all_holes
from coilgen.rules._boundary import near_boundary, near_pockets
from coilgen.rules._places import TOLERANCE, Place, Places, short_lengths
from coilgen.study.panel.panel import Panel
from coilgen.units import in_mm, measured_mm


def findings(panel: Panel) -> tuple[Finding, ...]:
    """Of the boards, each with its label and in its own coordinates, then of the panel in the panel's."""
    return (*_of_boards(panel), *_of_panel(panel))


def _of_boards(panel: Panel) -> Iterator[Finding]:
    """Boards of one copper are told once."""
    told: dict[int, list[str]] = {}
    for each in panel.boards:
        told.setdefault(id(each.board.result), []).append(each.board.label)
    for labels in told.values():
        board = next(each.board for each in panel.boards if each.board.label == labels[0])
        for finding in board.result.findings:
            yield replace(finding, says=f"{', '.join(labels)}, from its own middle: {finding.says}")


def _of_panel(panel: Panel) -> Iterator[Finding]:
    limit = _strictest(panel)
    yield from _between_boards(panel, limit("trace_spacing"))
    yield from _between_holes(panel, limit("hole_to_hole"))
    yield from _to_edges(panel, limit("copper_to_edge"))
    yield from _to_scores(panel)
    yield from _to_perforations(panel)
    yield from _unlabelled(panel)


def _strictest(panel: Panel) -> Callable[[str], float]:
    """The largest of all boards' limits, by name: where boards meet, every board's rule holds."""

    def limit(name: str) -> float:
        return max(each.board.design.rules.limit(name) for each in panel.boards)

    return limit


def _between_boards(panel: Panel, limit: float) -> Iterable[Finding]:
    """Copper of different boards, coupons and marks; that of one board is checked with the board."""
    whole = copper(panel.art)
    owners = {net: each.board.label for each in panel.boards for net in each.board.nets}
    names = [owners.get(net, net) for net in whole.nets]
    owner = np.array([names.index(name) for name in names], np.intp)[whole.net]
    near = unjoined_gaps(whole, limit - TOLERANCE)
    near = near.where(owner[near.first] != owner[near.second])
    found = _places(near.value, whole.strokes.sheet[near.first], near.at)
    yield from short_lengths(
        "trace_spacing",
        limit,
        found,
        lambda place: (
            f"Copper of two parts of the panel is {in_mm(place.value)} apart, under {in_mm(limit)}: "
            "raise the gap between boards."
        ),
    )


def _between_holes(panel: Panel, limit: float) -> Iterable[Finding]:
    """Holes of different boards, of the frame and of perforations; a perforation is one on purpose."""
    art = panel.art
    drilled, owner = all_holes(art), _hole_owners(panel)
    near = gaps(drilled, drilled, near_pairs(drilled, limit - TOLERANCE))
    near = near.where((owner[near.first] != owner[near.second]) & (near.value < limit - TOLERANCE))
    found = _places(near.value, np.zeros(len(near), np.intp), near.at)
    yield from short_lengths(
        "hole_to_hole",
        limit,
        found,
        lambda place: (
            f"Holes of two parts of the panel are {in_mm(place.value)} apart, under {in_mm(limit)}: "
            "raise the gap, or move the holes in from the board's edge."
        ),
    )


def _hole_owners(panel: Panel) -> Index:
    """A number for each hole of the panel: of its board, coupon or row of perforation, or its own."""
    counts = [len(each.art.holes) for each in panel.boards] + [len(art.holes) for _, art in panel.coupons]
    owners = [number for number, count in enumerate(counts) for _ in range(count)]
    rows = [row for each in panel.cuts for row in each.perforations]
    tooling = len(panel.art.holes) - len(owners) - sum(len(row) for row in rows)
    owners += [len(counts) + number for number in range(tooling)]
    owners += [len(counts) + tooling + number for number, row in enumerate(rows) for _ in row]
    return np.array(owners, np.intp)


def _to_edges(panel: Panel, limit: float) -> Iterable[Finding]:
    """Copper near the panel's own edge, or near a slot that is cut beside it."""
    strokes, outline = copper(panel.art).strokes, panel.art.outline
    assert outline is not None  # a panel has one
    slots = replace(panel.art, pockets=tuple(slot for each in panel.cuts for slot in each.slots))
    for found in (
        near_boundary(strokes, outline, limit, inside=True),
        near_pockets(strokes, slots, limit),
    ):
        yield from short_lengths(
            "copper_to_edge",
            limit,
            found,
            lambda place: f"{_cut(place.value, limit)}: bring it in from the board's edge.",
        )


def _cut(value: float, limit: float) -> str:
    if value < 0:
        return f"Copper reaches {measured_mm(-value)} into what is cut out of the panel"
    return f"Copper is {measured_mm(value, limit)} from what is cut out of the panel, under {in_mm(limit)}"


def _to_scores(panel: Panel) -> Iterator[Finding]:
    """Copper and holes near the lines that a cutter follows from both faces."""
    if not panel.plan.scores:
        return
    lines = pieces([segment for line in panel.plan.scores for segment in line.segments])
    score = Strokes(pieces=lines, width=np.zeros(len(lines)), sheet=np.zeros(len(lines), np.intp))
    for rule, what, strokes in (
        ("copper_to_score", "Copper", copper(panel.art).strokes),
        ("hole_to_score", "A hole", all_holes(panel.art)),
    ):
        limit = fact("v_score", rule)
        near = gaps(strokes, score, near_pairs_between(strokes, score, limit - TOLERANCE))
        near = near.where(near.value < limit - TOLERANCE)
        found = _places(near.value, strokes.sheet[near.first], near.at)
        yield from short_lengths(rule, limit, found, _score_says(what, limit))


def _score_says(what: str, limit: float) -> Callable[[Place], str]:
    return lambda place: (
        f"{what} is {in_mm(place.value)} from a score, under {in_mm(limit)}: enlarge the board, or part the "
        'boards with separation = "tabs".'
    )


def _to_perforations(panel: Panel) -> Iterator[Finding]:
    rows = [hole for each in panel.cuts for row in each.perforations for hole in row]
    if not rows:
        return
    limit = fact("tab", "copper_to_perforation")
    drilled = _discs(rows)
    strokes = copper(panel.art).strokes
    near = gaps(strokes, drilled, near_pairs_between(strokes, drilled, limit - TOLERANCE))
    near = near.where(near.value < limit - TOLERANCE)
    found = _places(near.value, strokes.sheet[near.first], near.at)
    yield from short_lengths(
        "copper_to_perforation",
        limit,
        found,
        lambda place: (
            f"Copper is {in_mm(place.value)} from the holes of a tab, under {in_mm(limit)}: enlarge the "
            "board, so that a tab finds room."
        ),
    )


def _discs(rows: Iterable[Hole]) -> Strokes:
    discs = list(rows)
    return Strokes(
        pieces=pieces([hole.at for hole in discs]),
        width=np.array([hole.diameter for hole in discs], float),
        sheet=np.zeros(len(discs), np.intp),
    )


def _unlabelled(panel: Panel) -> Iterator[Finding]:
    for each in panel.boards:
        if not each.board.labelled:
            low = each.middle
            yield Finding(
                rule="label",
                value=0.0,
                limit=1.0,
                unit="1",
                layer=1,
                at=low,
                says=f"There is no room to print {each.board.label} on {each.board.design.name}: enlarge the "
                "board; apart from the panel it cannot be told from others.",
            )


def _places(value: Reals, layer: Index, at: Points) -> Places:
    return Places(value=value, layer=layer, at=at, kind=np.zeros(len(value), np.intp))
