"""What every board of several windings keeps: read from its files net by net."""

from collections.abc import Iterator

import board_laws
import figure_laws
import shapely
from board_reader import Board, disc
from made import Made

from coilgen.design.design import Design

NEAR = 1e-7
"""m, by which a hole may miss its pad when written in whole nanometres."""


def pieces_by_net(board: Board) -> list[tuple[set[str], set[str]]]:
    """Nets and terminal pins of every piece of copper that hangs together, through plated holes.

    Whether copper hangs together is told by where it lies alone; nets and pins are what the files call it.
    """
    pieces = [(layer, piece) for layer, sheet in board.copper.items() for piece in sheet.parts]
    group = list(range(len(pieces)))

    def root(k: int) -> int:
        while group[k] != k:
            k = group[k]
        return k

    for hole in board.holes:
        if hole.plated:
            barrel = disc(hole.at, hole.diameter + 2 * NEAR)
            touched = [k for k, (_, piece) in enumerate(pieces) if piece.intersects(barrel)]
            for k in touched[1:]:
                group[root(k)] = root(touched[0])
    found: dict[int, tuple[set[str], set[str]]] = {root(k): (set(), set()) for k in range(len(pieces))}
    for layer, sheet in board.copper.items():
        own = [(k, piece) for k, (at, piece) in enumerate(pieces) if at == layer]
        tree = shapely.STRtree([piece for _, piece in own])
        marks = [(draw.start, draw.net, None) for draw in sheet.image.draws]
        marks += [(flash.at, flash.net, flash.pin) for flash in sheet.flashes]
        for at, net, pin in marks:
            for place in tree.query(shapely.Point(at.real, at.imag), predicate="intersects"):
                nets, pins = found[root(own[place][0])]
                nets.add(net)
                pins |= {pin[1]} if pin else set()
    return list(found.values())


def pins_by_net(design: Design) -> dict[str, set[str]]:
    """Terminals of each net: two for each winding, or for each phase whose coils are joined, or one."""
    array = design.array
    if array is None or array.coils == "open":
        names = [each.name for each in design.windings]
    elif array.connection == "open":
        names = list("ABCDEFGHIJKL"[: array.phases])
    else:
        name = "ABCDEFGHIJKL"[: array.phases]
        return {name: {str(k + 1) for k in range(len(name))}}
    return {name: {str(2 * k + 1), str(2 * k + 2)} for k, name in enumerate(names)}


def each_net_hangs_together_and_touches_no_other(made: Made) -> Iterator[str]:
    if any(finding.rule == "trace_spacing" and finding.value <= 0 for finding in made.result.findings):
        return
    found = [(nets, pins) for nets, pins in pieces_by_net(made.board) if nets != {""}]
    wanted = pins_by_net(made.design)
    names = list(wanted)
    if sorted(map(sorted, (nets for nets, _ in found))) != sorted([name] for name in names):
        yield f"pieces of copper bear the nets {[sorted(nets) for nets, _ in found]}, not {names}"
    for nets, pins in found:
        own = set().union(*(wanted.get(net, set()) for net in nets))
        if not pins <= own:
            yield f"{sorted(nets)} has the terminals {sorted(pins)}, not {sorted(own)}"


def no_short_is_left_untold(made: Made) -> Iterator[str]:
    """Where the rules are clean, copper of two nets lies apart by the shop's spacing, read from the files."""
    if made.result.findings:
        return
    least = made.design.rules.trace_spacing
    for layer, sheet in made.board.copper.items():
        by_net: dict[str, list[shapely.Geometry]] = {}
        for piece in sheet.parts:
            nets = {flash.net for flash in sheet.flashes if piece.covers(shapely.Point(_xy(flash.at)))}
            nets |= {draw.net for draw in sheet.image.draws if piece.covers(shapely.Point(_xy(draw.start)))}
            for net in nets:
                by_net.setdefault(net, []).append(piece)
        areas = [shapely.union_all(parts) for parts in by_net.values()]
        for k, one in enumerate(areas):
            for other in areas[k + 1 :]:
                if one.distance(other) < least - 2 * NEAR:
                    yield f"nets {one.distance(other) * 1e3:.4f} mm apart on layer {layer}"


def _xy(at: complex) -> tuple[float, float]:
    return at.real, at.imag


def a_tail_reaches_its_end(made: Made) -> Iterator[str]:
    if made.design.tail is not None:
        yield from board_laws.tail_reaches(made)


LAWS = (
    a_tail_reaches_its_end,
    each_net_hangs_together_and_touches_no_other,
    no_short_is_left_untold,
    figure_laws.reads_back,
    figure_laws.numbers_are_finite,
    figure_laws.bands_hold_their_values,
    figure_laws.matrices_are_symmetric,
    figure_laws.signs_are_right,
    figure_laws.files_are_whole,
    figure_laws.temperature_is_the_hottest_coppers,
)
"""Every law of a board of several windings."""
