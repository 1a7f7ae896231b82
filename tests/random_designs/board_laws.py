"""Laws that every board keeps, told of its files alone and of what the program says about them.

A law yields a sentence for everything that breaks it.
"""

import math
from collections.abc import Iterator
from itertools import combinations

import shapely
from board_reader import Sheet, disc, middle, vertices
from gerber_reader import Image
from made import Made

NEAR = 1e-6
"""What is nearer to a limit than this may be found or not, m."""
ROUNDING = 3e-9
"""Whole nanometres of the files, m."""


def boards_without_an_outline_have_no_set(made: Made) -> Iterator[str]:
    """Files for the fab tell an edge, or there are none."""
    written = sorted(path for path in made.files if path.endswith((".gbr", ".drl")))
    if bool(written) != (made.design.board.outline != "none"):
        yield f"outline {made.design.board.outline}, files {written}"


def copper_is_one_piece(made: Made) -> Iterator[str]:
    """All copper hangs together through plated holes, and both terminals' pads are part of it."""
    found = made.circuit
    if len(found.components) != 1:
        yield f"copper falls into {len(found.components)} pieces that nothing joins"
    for number in ("1", "2"):
        if number not in found.pins:
            yield f"no pad of terminal {number}"
    nets = {piece.net for sheet in made.own.copper.values() for piece in (*sheet.image.draws, *sheet.flashes)}
    if nets != {"COIL"}:
        yield f"nets {sorted(nets)}"


def nothing_is_shorted(made: Made) -> Iterator[str]:
    """No layer's copper closes a ring, and no barrel joins what a turn separates."""
    for layer, sheet in made.own.copper.items():
        rings = sum(len(part.interiors) for part in sheet.parts)
        if rings:
            yield f"layer {layer}: {rings} rings of copper"
    winding = made.design.winding
    side_by_side = winding.layers if winding.connection == "parallel" else 1
    loops = made.circuit.loops
    if loops != side_by_side - 1:
        yield f"{loops} loops through barrels where {side_by_side - 1} are meant"


def current_circulates(made: Made) -> Iterator[str]:
    """On every wound layer in the asked sense, by the asked turns."""
    winding = made.design.winding
    sense = 1 if winding.direction == "counterclockwise" else -1
    turns = {layer: angle / math.tau for layer, angle in made.circuit.turning.items()}
    for layer in range(1, winding.layers + 1):
        own = sense * turns.get(layer, 0.0)
        if abs(own - winding.turns) > 1.05:
            yield f"layer {layer}: {own:.2f} turns in the asked sense, {winding.turns:g} asked"
    for layer in set(turns) - set(range(1, winding.layers + 1)):
        if abs(turns[layer]) > 1.05:
            yield f"layer {layer}, not wound: {turns[layer]:.2f} turns"


def short_by_a_hole(made: Made) -> bool:
    """Whether the ring of a hole that the design adds lies over copper, which a finding tells as a short."""
    told = made.value("smallest_spacing")
    found = {finding.rule for finding in made.result.findings if finding.value <= 0}
    return bool(made.design.hole) and told is not None and told <= 0 and "trace_spacing" in found


def spacing_is_as_told(made: Made) -> Iterator[str]:
    """Copper grown by a hair less than half the told spacing stays apart; by a hair more, it meets."""
    told = made.value("smallest_spacing")
    if told is None or short_by_a_hole(made):
        return
    closed = False
    for layer, sheet in made.board.copper.items():
        before = _shape(sheet.ink)
        if all(_shape(_grown(sheet.ink, told / 2 - NEAR, steps)) != before for steps in (1, 20)):
            yield f"layer {layer}: copper is nearer than the {told * 1e3:.6f} mm told"
        closed = closed or _shape(sheet.ink.buffer(told / 2 + NEAR, quad_segs=24)) != before
    if not closed and not any(abs(gap - told) < NEAR for gap in _notches(made)):
        yield f"nothing is as near as the {told * 1e3:.6f} mm told"


def _grown(ink: shapely.Geometry, by: float, steps: int) -> shapely.Geometry:
    """GEOS leaves out corners of hollow sides within a hundredth of the distance; less in many steps."""
    for _ in range(steps):
        ink = ink.buffer(by / steps, quad_segs=24)
    return ink


def _notches(made: Made) -> Iterator[float]:
    """Gaps of pads to strokes and other pads: beside copper that joins them they leave notches, no rings."""
    for sheet in made.board.copper.values():
        for one, other in combinations(sheet.flashes, 2):
            yield middle(one).distance(middle(other)) - (one.diameter + other.diameter) / 2
        for draw in sheet.image.draws:
            line = shapely.LineString(vertices([draw]))
            for pad in sheet.flashes:
                yield line.distance(middle(pad)) - (draw.width + pad.diameter) / 2


def _shape(area: shapely.Geometry) -> tuple[int, int]:
    """How many pieces and how many holes."""
    parts = shapely.get_parts(area)
    return len(parts), sum(len(part.interiors) for part in parts)


def traces_are_as_told(made: Made) -> Iterator[str]:
    """Width and length of all strokes of copper."""
    draws = [draw for sheet in made.board.copper.values() for draw in sheet.image.draws]
    width, told = made.design.winding.trace_width, made.value("smallest_width")
    asked = {width, made.design.terminals.lead_width or width}
    for other in {draw.width for draw in draws if all(abs(draw.width - own) > ROUNDING for own in asked)}:
        yield f"a trace of {other * 1e3:.6f} mm, {width * 1e3:.6f} mm asked"
    width = min(draw.width for draw in draws)
    if told is not None and abs(told - width) > ROUNDING:
        yield f"smallest_width tells {told * 1e3:.6f} mm of {width * 1e3:.6f} mm"
    length, told = sum(draw.length for draw in draws), made.value("trace_length")
    if told is not None and abs(length - told) > 1e-8 + 1e-9 * len(draws):
        yield f"strokes of {length * 1e3:.6f} mm, trace_length {told * 1e3:.6f} mm"


def holes_stand_in_their_pads(made: Made) -> Iterator[str]:
    """Each plated hole is one of a via or a terminal, and centred in a pad on every copper layer."""
    via, terminals = made.design.via, made.design.terminals
    sizes = {round(via.drill, 9), *([round(terminals.drill, 9)] if terminals.kind == "plated-hole" else [])}
    for hole in made.own.holes:
        if not hole.plated or round(hole.diameter, 9) not in sizes:
            yield f"a hole of {hole.diameter * 1e3:.4f} mm at {_at(hole.at)} is nobody's"
        for layer, sheet in made.own.copper.items():
            pads = [pad.diameter for pad in sheet.flashes if abs(pad.at - hole.at) <= ROUNDING]
            own = terminals.pad if any(abs(p - terminals.pad) < ROUNDING for p in pads) else via.pad
            if not pads or abs(max(pads) - own) > ROUNDING:
                yield f"layer {layer}: pads {pads} round the hole at {_at(hole.at)}"
    wanted = 2 if terminals.kind == "plated-hole" else 0
    if sum(abs(hole.diameter - terminals.drill) < ROUNDING for hole in made.own.holes) < wanted:
        yield "a terminal without its hole"
    for one, other in combinations(made.own.holes, 2):
        if abs(one.at - other.at) < (one.diameter + other.diameter) / 2:
            yield f"holes at {_at(one.at)} and {_at(other.at)} run into each other"


def further_holes_are_as_told(made: Made) -> Iterator[str]:
    """Each hole that the design adds is drilled where it asks, and a plated one has a ring on every layer."""
    for asked in made.design.hole:
        at = complex(*asked.at)
        found = [hole for hole in made.board.holes if abs(hole.at - at) <= ROUNDING]
        if not any(
            abs(hole.diameter - asked.diameter) <= ROUNDING and hole.plated == asked.plated for hole in found
        ):
            yield f"no hole as asked at {_at(at)}: {found}"
        for layer, sheet in made.board.copper.items():
            rings = [pad for pad in sheet.flashes if not pad.net and abs(pad.at - at) <= ROUNDING]
            ring = asked.diameter / 2 + made.design.rules.annular_ring
            if asked.plated and made.design.rules.annular_ring and not rings:
                yield f"layer {layer}: no ring about the hole at {_at(at)}"
            if any(abs(pad.diameter / 2 - ring) > ROUNDING for pad in rings) or (rings and not asked.plated):
                yield f"layer {layer}: rings {rings} about the hole at {_at(at)}"


def openings_bare_what_they_should(made: Made) -> Iterator[str]:
    """One for each terminal's pad on each face, and for vias that are ordered open; no other."""
    for side in ("top", "bottom"):
        mask = made.board.masks.get(side, Sheet(Image()))
        wanted = sorted(_wanted_openings(made, side))
        found = sorted((_key(each.at), round(each.diameter, 9)) for each in mask.flashes)
        if [place for place, _ in wanted] != [place for place, _ in found]:
            yield f"{side}: openings at {found}, wanted at {wanted}"
        elif any(abs(a - b) > ROUNDING for (_, a), (_, b) in zip(wanted, found, strict=True)):
            yield f"{side}: openings {found} in place of {wanted}"
        if mask.image.draws:
            yield f"{side}: strokes in the mask"
        yield from _window(made, side, mask)


def _window(made: Made, side: str, mask: Sheet) -> Iterator[str]:
    """One over all contact fingers, which bares of each the asked length, and of no lead anything."""
    terminals = made.design.terminals
    count = len(terminals.dealt()) if terminals.kind == "contact-fingers" and side == "top" else 0
    if len(mask.image.regions) != (count > 0):
        yield f"{side}: {len(mask.image.regions)} windows"
    if count:
        window = shapely.union_all([shapely.Polygon(vertices(chain)) for chain in mask.image.regions])
        bare = shapely.get_parts(made.board.copper[1].ink.intersection(window))
        sizes = [sorted((x1 - x0, y1 - y0)) for x0, y0, x1, y1 in map(shapely.bounds, bare)]
        asked = sorted((terminals.pad, terminals.finger_length))
        if len(sizes) != count or any(
            abs(a - b) > NEAR for each in sizes for a, b in zip(each, asked, strict=True)
        ):
            yield f"{count} fingers bare {sizes} of {asked}"


def _wanted_openings(made: Made, side: str) -> Iterator[tuple[tuple[int, int], float]]:
    """Place, nm, and diameter, m: past the pad, or within it where coverlay holds a terminal's edge."""
    rules, layers = made.design.rules, len(made.board.copper)
    if side == "bottom" and layers == 1:
        return
    pads = made.own.copper[1 if side == "top" else layers].flashes
    of_terminals = -rules.coverlay_hold or rules.mask_opening
    for pad in pads:
        if pad.span:
            continue
        if pad.pin is not None:
            yield _key(pad.at), round(pad.diameter + 2 * of_terminals, 9)
        elif made.design.order.vias == "open":
            yield _key(pad.at), round(pad.diameter + 2 * rules.mask_opening, 9)


def profile_is_closed(made: Made) -> Iterator[str]:
    """A closed loop for the outline and one for the pocket, as large as asked."""
    design, board = made.design, made.board
    wanted = (design.board.outline != "none") + (design.pocket is not None)
    if len(board.loops) != wanted or len(board.profile.chains) != wanted:
        yield f"{len(board.profile.chains)} loops in the profile, {wanted} wanted"
        return
    for chain in board.profile.chains:
        if chain[-1].end != chain[0].start:
            yield f"the profile is open at {_at(chain[0].start)}"
    if design.tail is not None:
        yield from tail_reaches(made)
    elif design.board.outline != "none":
        yield from _measures("board", board.loops[0], _outline_size(made), design.board.centre)
    if design.pocket is not None and design.pocket.shape in ("rectangular", "racetrack"):
        yield from _measures("pocket", board.loops[-1], design.pocket.sizes)
    elif design.pocket is not None and design.pocket.shape != "wedge":
        across = design.pocket.least
        up = across / math.cos(math.pi / 6) if design.pocket.shape == "hexagonal" else across
        cut = 2 * design.pocket.corner_radius * (1 / math.cos(math.pi / 6) - 1) if up > across else 0.0
        turned = up > across and made.design.terminals.side in ("east", "west")
        size = (up - cut, across) if up > across else (across, across)
        yield from _measures("pocket", board.loops[-1], size[::-1] if turned else size)
    if wanted == 2 and not board.loops[0].contains(board.loops[1]):
        yield "the pocket is not inside the board"


def _outline_size(made: Made) -> tuple[float, float]:
    board = made.design.board
    x0, y0, x1, y1 = made.board.loops[0].bounds
    return board.size or board.width or x1 - x0, board.size or board.height or y1 - y0


def tail_reaches(made: Made) -> Iterator[str]:
    """As far beyond the winding's part as asked; of that part half its size from its centre, where told."""
    tail, board = made.design.tail, made.design.board
    x0, y0, x1, y1 = made.board.loops[0].bounds
    upright = tail.side in ("north", "south")
    far = {"north": y1, "south": -y0, "east": x1, "west": -x0}[tail.side]
    size = board.size or (board.height if upright else board.width)
    shift = (board.centre.imag if upright else board.centre.real) * (
        1 if tail.side in ("north", "east") else -1
    )
    if size is not None and abs(far - (shift + size / 2 + tail.length)) > NEAR:
        yield f"the tail ends {far * 1e3:.4f} mm out, {(shift + size / 2 + tail.length) * 1e3:.4f} mm asked"
    strip = made.board.loops[0].intersection(_end_of(made.board.loops[0].bounds, tail.side))
    ends = strip.bounds
    width = ends[2] - ends[0] if upright else ends[3] - ends[1]
    if tail.width is not None and abs(width - tail.width) > NEAR:
        yield f"the tail is {width * 1e3:.4f} mm wide, {tail.width * 1e3:.4f} mm asked"
    middle_line = (ends[0] + ends[2]) / 2 if upright else (ends[1] + ends[3]) / 2
    if abs(middle_line - tail.offset) > NEAR:
        yield f"the tail's middle is at {middle_line * 1e3:.4f} mm, {tail.offset * 1e3:.4f} mm asked"


def _end_of(bounds: tuple[float, float, float, float], side: str) -> shapely.Polygon:
    """The last 2 mm of a board."""
    x0, y0, x1, y1 = bounds
    deep = 2e-3
    return shapely.box(
        x1 - deep if side == "east" else x0,
        y1 - deep if side == "north" else y0,
        x0 + deep if side == "west" else x1,
        y0 + deep if side == "south" else y1,
    )


def _measures(
    what: str, loop: shapely.Polygon, size: tuple[float, float], about: complex = 0j
) -> Iterator[str]:
    x0, y0, x1, y1 = loop.bounds
    both = (
        (x1 - x0, size[0], x0 - about.real, x1 - about.real),
        (y1 - y0, size[1], y0 - about.imag, y1 - about.imag),
    )
    for found, asked, low, high in both:
        if abs(found - asked) > NEAR or abs(low + high) > NEAR:
            yield f"the {what} reaches from {low * 1e3:.4f} to {high * 1e3:.4f} of {asked * 1e3:.4f} mm"


def legend_is_on_the_board(made: Made) -> Iterator[str]:
    """Print keeps off edges, holes and openings; a board with both terminals on its top tells them apart."""
    limit = made.design.rules.legend_clearance
    for distance, what in _ink_distances(made):
        if distance < limit - NEAR:
            yield f"ink is {distance * 1e3:.4f} mm from {what}, {limit * 1e3:.4f} mm asked"


def _ink_distances(made: Made) -> Iterator[tuple[float, str]]:
    board = made.board
    ink = shapely.union_all([sheet.ink for sheet in board.legends.values()])
    if ink.is_empty:
        return
    outline, pocket = _edges(made)
    if outline is not None:
        yield _inside(ink, outline), "the edge"
    if pocket is not None:
        yield _outside(ink, pocket), "the pocket"
    for hole in board.holes:
        yield ink.distance(hole.disc), f"the hole at {_at(hole.at)}"
    for opening in board.masks["top"].flashes:
        yield ink.distance(disc(opening.at, opening.diameter)), f"the opening at {_at(opening.at)}"
    if board.masks["top"].image.regions:
        yield ink.distance(board.masks["top"].ink), "the contact fingers"


def findings_tell_what_is_there(made: Made) -> Iterator[str]:
    """A rule finds something exactly where an independent measure is under its limit."""
    rules = made.design.rules
    found = {finding.rule for finding in made.result.findings}
    for rule, value in _measured(made):
        limit = getattr(rules, rule)
        upward = rule in ("board_size", "layer_count", "drill_aspect_ratio")
        short = (value - limit) if upward else (limit - value)
        if abs(short) > NEAR and (short > 0) != (rule in found):
            what = "is not found" if short > 0 else "is found all the same"
            yield f"{rule}: {value:.7g} against {limit:.7g} {what}"
    for rule in found & {"layer_count"}:
        if made.design.board.stackup.layers <= rules.layer_count:
            yield f"{rule}: found without a cause"


def _measured(made: Made) -> Iterator[tuple[str, float]]:
    """What an independent reader measures for each rule, SI."""
    board = made.board
    copper = {layer: sheet.ink for layer, sheet in board.copper.items()}
    outline, pocket = _edges(made)
    yield "trace_width", min(draw.width for sheet in board.copper.values() for draw in sheet.image.draws)
    yield "layer_count", float(len(copper))
    bounds = shapely.total_bounds([outline] if outline is not None else list(copper.values()))
    yield "board_size", max(bounds[2] - bounds[0], bounds[3] - bounds[1])
    if (spacing := made.value("smallest_spacing")) is not None:
        yield "trace_spacing", spacing
    edges = [] if outline is None else [_inside(ink, outline) for ink in copper.values()]
    drilled = [hole.disc for hole in board.holes if not hole.plated]
    edges += [_outside(ink, disc) for ink in copper.values() for disc in drilled]
    if edges:
        yield "copper_to_edge", min(edges)
    if pocket is not None:
        yield "copper_to_pocket", min(_outside(ink, pocket) for ink in copper.values())
        if board.holes:
            yield "hole_to_pocket", min(_outside(hole.disc, pocket) for hole in board.holes)
    yield from _of_holes(made)
    webs = [
        abs(one.at - other.at) - (one.diameter + other.diameter) / 2
        for sheet in board.masks.values()
        for one, other in combinations(sheet.flashes, 2)
    ]
    if webs:
        yield "mask_web", min(webs)
    if distances := [distance for distance, _ in _ink_distances(made)]:
        yield "legend_clearance", min(distances)


def _of_holes(made: Made) -> Iterator[tuple[str, float]]:
    holes, design = made.board.holes, made.design
    if not holes:
        return
    plated = [hole for hole in holes if hole.plated]
    yield "drill_diameter", min(hole.diameter for hole in holes)
    if plated:
        yield "drill_aspect_ratio", design.board.stackup.thickness / min(hole.diameter for hole in plated)
        rings = (
            max((pad.diameter - hole.diameter) / 2 - abs(pad.at - hole.at) for pad in sheet.flashes)
            for hole in plated
            for sheet in made.board.copper.values()
        )
        yield "annular_ring", min(rings)
    if len(holes) > 1:
        yield (
            "hole_to_hole",
            min(
                abs(one.at - other.at) - (one.diameter + other.diameter) / 2
                for one, other in combinations(holes, 2)
            ),
        )


def _edges(made: Made) -> tuple[shapely.Polygon | None, shapely.Polygon | None]:
    """Outline and pocket, where they are asked for."""
    loops = list(made.board.loops)
    outline = loops.pop(0) if loops and made.design.board.outline != "none" else None
    return outline, loops[0] if loops else None


def _inside(area: shapely.Geometry, edge: shapely.Polygon) -> float:
    """How far an area keeps inside an edge, negative where it reaches beyond it, m."""
    if edge.contains(area):
        return float(area.distance(edge.exterior))
    beyond = area.difference(edge)
    return -float(shapely.hausdorff_distance(beyond, edge)) if not beyond.is_empty else 0.0


def _outside(area: shapely.Geometry, hole: shapely.Polygon) -> float:
    """How far an area keeps outside a hole, negative where it reaches into it, m."""
    return float(area.distance(hole)) or -math.inf


def _at(point: complex) -> str:
    return f"({point.real * 1e3:.3f}, {point.imag * 1e3:.3f}) mm"


def _key(point: complex) -> tuple[int, int]:
    return round(point.real * 1e9), round(point.imag * 1e9)


LAWS = (
    boards_without_an_outline_have_no_set,
    copper_is_one_piece,
    nothing_is_shorted,
    current_circulates,
    spacing_is_as_told,
    traces_are_as_told,
    holes_stand_in_their_pads,
    further_holes_are_as_told,
    openings_bare_what_they_should,
    profile_is_closed,
    legend_is_on_the_board,
    findings_tell_what_is_there,
)
"""Every law of a board."""
