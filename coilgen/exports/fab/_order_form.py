"""The usual questions of an order: what the design fixes, what is free to the fab, what is to choose."""

import math
from collections import Counter
from collections.abc import Iterator, Sequence

import numpy as np

from coilgen.artwork.art import Opening
from coilgen.design.board import Pocket
from coilgen.design.design import Design
from coilgen.design.order import FINISHES
from coilgen.exports.fab._fabrication import film
from coilgen.exports.fab._markdown import mm, um
from coilgen.geometry.containment import contains
from coilgen.geometry.extent import extent
from coilgen.geometry.path import Path
from coilgen.geometry.point import Point
from coilgen.result.result import Result
from coilgen.units import per_cent

Row = tuple[str, str, str]
"""Question, answer, who decides."""

DESIGN, ORDER, FAB = "fixed by the design", "fixed by the order", "free to the fab"
OPEN = "OPEN: the buyer's choice"

TG_MARGIN = 25.0
"""K that a laminate's glass transition stays over its lasting temperature; common practice, no source."""
LEAST_TG = 130.0
"""degC, of ordinary glass and epoxy; common practice, no source."""
MOST_TG = 180.0
"""degC, of glass and epoxy made for heat; common practice, no source."""


def order_form(result: Result) -> Iterator[Row]:
    """Every question with its answer; a flexible board has two more."""
    yield from _delivery(result)
    yield from _form(result)
    yield from _materials(result)
    yield from _copper(result)
    yield from _surface(result)
    yield from _holes(result)
    yield from _acceptance(result)
    if result.design.board.stackup.flexible:
        yield "stiffener", _stiffeners(result), DESIGN
        yield "bend", "; ".join(bend.says for bend in result.art.bends) or "none stated", DESIGN


def _delivery(result: Result) -> Iterator[Row]:
    order = result.design.order
    asked = order.quantity is not None
    yield "quantity", f"{order.quantity} boards" if asked else "not stated", ORDER if asked else OPEN
    panel = {
        "single": "single boards, edges smooth, no break-off tabs left",
        "panel": "in the fab's panel; frame, tooling holes and marks there are free to the fab",
    }
    yield "delivery", panel[order.delivery], ORDER


def _form(result: Result) -> Iterator[Row]:
    yield "outline", f"{_outline(result)}; tolerance of the fab, 0.2 mm to either side at most", DESIGN
    cut = Counter(_cut_outs(result.design))
    if not cut:
        yield "cut-outs", "none", DESIGN
    for form, many in cut.items():
        told = f"{form}; not plated; {_fit(result)}"
        yield ("cut-out", told, DESIGN) if many == 1 else ("cut-outs", f"{many}, each {told}", DESIGN)


def _cut_outs(design: Design) -> list[str]:
    """The form of each; one that several windings about it share counts once."""
    if not design.windings:
        return [] if design.pocket is None else [_pocket(design.pocket)]
    told = ((each.centre, each.design.pocket) for each in design.windings if each.design.pocket is not None)
    return [form for _, form in dict.fromkeys((centre, _pocket(pocket)) for centre, pocket in told)]


def _outline(result: Result) -> str:
    board, path = result.design.board, result.art.outline
    if path is None:
        raise ValueError("a board without an outline is not ordered")
    low, high = extent(path)
    size = high - low
    if board.outline == "round" and result.coil.tail is None:
        return f"round, {mm(size.real)} diameter"
    if result.coil.tail is not None:
        tail = mm(result.coil.tail.width)
        return f"{mm(size.real)} x {mm(size.imag)} over all, with a tail {tail} wide: see the profile"
    corners = f"corner radius {mm(board.corner_radius)}" if board.corner_radius else "sharp corners"
    return f"{mm(size.real)} x {mm(size.imag)}, {corners}"


def _pocket(pocket: Pocket) -> str:
    x, y = pocket.sizes
    forms = {
        "round": f"round, {mm(x)} diameter",
        "square": f"square, {mm(x)} across flats",
        "hexagonal": f"hexagon, {mm(x)} across flats",
        "rectangular": f"rectangle, {mm(x)} x {mm(y)}",
        "racetrack": f"slot with half-round ends, {mm(x)} x {mm(y)}",
        "wedge": f"sector of a ring, radii {pocket.told}",
    }
    corners = f", inner corner radius {mm(pocket.corner_radius)}" if pocket.cornered else ""
    return f"{forms[pocket.shape]}{corners}, through the board"


def _fit(result: Result) -> str:
    """The pocket's tolerance; a part that goes into it sets its least size."""
    tolerance = result.design.order.pocket_tolerance
    told = "tolerance of the fab" if tolerance is None else f"+/- {mm(tolerance)}"
    parts = [max(core.size) for core in result.design.core if core.place == "pocket"]
    return f"{told}, yet a part of {mm(max(parts))} must go in" if parts else told


def _materials(result: Result) -> Iterator[Row]:
    stackup, order = result.design.board.stackup, result.design.order
    kind = ", flexible" if stackup.flexible else ""
    yield "base material", f"{stackup.material}{kind}; make free to the fab", DESIGN
    yield "glass transition (Tg)", *_tg(result)
    layers = result.art.copper_layers
    yield "copper layers", f"{layers}, numbered from the top; none may be left out", DESIGN
    tolerance, usual = order.thickness_tolerance, "" if stackup.flexible else ", 10 % at most"
    allowed = f"tolerance of the fab{usual}" if tolerance is None else f"+/- {per_cent(tolerance)}"
    yield "board thickness", f"{_thickness(result)}; {allowed}", DESIGN if tolerance is None else ORDER


def _tg(result: Result) -> tuple[str, str]:
    stackup, asked = result.design.board.stackup, result.design.order.tg
    if asked is not None:
        return f"{asked:.0f} degC or more", ORDER
    settled = result.figures.get("temperature")
    if stackup.flexible:
        limit = stackup.laminate.limit_temperature
        told = f"not asked; film and adhesive must bear {limit:.0f} degC for good"
        return (
            (f"{told}{_hotter(settled.value)}", OPEN) if settled and settled.value > limit else (told, DESIGN)
        )
    if settled is None:
        return f"{LEAST_TG:.0f} degC or more", DESIGN
    least = max(LEAST_TG, 10 * math.ceil((settled.value + TG_MARGIN) / 10))
    if least > MOST_TG:
        return f"not stated{_hotter(settled.value)} (glass and epoxy end at some {MOST_TG:.0f})", OPEN
    return f"{least:.0f} degC or more (copper in use: {settled.value:.0f} degC)", DESIGN


def _hotter(settled: float) -> str:
    """What no board is ordered for."""
    return (
        f"; held on, the drive heats the copper to {settled:.0f} degC, more than such a board bears: limit it"
    )


def _thickness(result: Result) -> str:
    stackup = result.design.board.stackup
    inner, cover = mm(stackup.thickness), film(stackup)
    faces = len(stackup.masked_faces)
    films = f"{faces} film{'s' if faces > 1 else ''} of {um(stackup.mask_thickness)} {cover}"
    return f"{inner} copper and dielectric, {mm(stackup.finished_thickness)} with {films}"


def _copper(result: Result) -> Iterator[Row]:
    stackup, order = result.design.board.stackup, result.design.order
    finished = ", ".join(f"L{layer} {um(copper)}" for layer, copper in enumerate(stackup.copper, 1))
    yield "finished copper", f"{finished}; plating included", DESIGN
    if order.copper_tolerance is None:
        reckoned = result.design.tolerance.copper_thickness
        told = (
            f"not stated; resistance follows it, and the window below allows {per_cent(reckoned)} "
            "to either side"
        )
        yield "copper tolerance", told, OPEN
    else:
        yield "copper tolerance", f"no thinner than {per_cent(1 - order.copper_tolerance)} of it", ORDER
    narrow, near = (mm(_smallest(result, what)) for what in ("width", "spacing"))
    within = "gaps within a net included" if result.windings else "gaps within the one net included"
    yield "smallest trace and gap", f"trace {narrow}, gap {near}, {within}", DESIGN
    yield (
        "changes to copper",
        "none but etch compensation, so that finished widths are as drawn; no smoothing, no balancing copper",
        DESIGN,
    )


def _smallest(result: Result, what: str) -> float:
    """Of the board's copper, m; as asked where it was not computed."""
    figure = result.figures.get(f"smallest_{what}")
    designs = [each.design for each in result.design.windings] or [result.design]
    asked = min(float(getattr(design.winding, f"trace_{what}")) for design in designs)
    return asked if figure is None else float(figure.value)


def _surface(result: Result) -> Iterator[Row]:
    stackup, order = result.design.board.stackup, result.design.order
    if order.finish is None:
        suits = "contact fingers: gold, hard or on nickel" if _has_fingers(result) else "hand soldering"
        yield "surface finish", f"not stated; any that suits {suits}", OPEN
    else:
        yield "surface finish", FINISHES[order.finish], ORDER
    cover, faces = film(stackup), " and ".join(stackup.masked_faces)
    bare = "" if len(stackup.masked_faces) > 1 else "; the bottom is bare"
    yield cover, f"{faces}, {order.soldermask_colour or 'any colour'}{bare}", _chosen(order.soldermask_colour)
    yield (
        f"openings in the {cover}",
        "; ".join(_openings(result, side) for side in stackup.masked_faces),
        DESIGN,
    )
    yield (
        "legend",
        f"top only, {order.legend_colour or 'any colour that shows'}",
        _chosen(order.legend_colour),
    )
    yield "marks of the fab", "in the legend, clear of openings; not in copper", FAB


def _chosen(choice: object) -> str:
    return FAB if choice is None else ORDER


def _openings(result: Result, side: str) -> str:
    """Number and diameter on a side; what an empty file means."""
    whole = [opening for opening in result.art.openings if opening.side == side]
    if not whole:
        return f"{side}: none is meant, its file is empty"
    own = [opening for opening in whole if opening.window is None]
    if len(own) < len(whole):
        window = f"{side}: one window over all contact fingers, to beyond the board's end"
        more = f"; {_round_openings(result, side, own)}" if own else ""
        return f"{window}{more}"
    return _round_openings(result, side, own)


def _round_openings(result: Result, side: str, own: Sequence[Opening]) -> str:
    counted = sorted(Counter(round(opening.diameter, 9) for opening in own).items())
    held = ", the film holds the pads' edges" if any(_held(result, opening) for opening in own) else ""
    return f"{side}: {', '.join(f'{count} of {mm(size)} diameter' for size, count in counted)}{held}"


def _held(result: Result, opening: Opening) -> bool:
    return any(
        pad.at == opening.at and opening.diameter < pad.diameter for pad in result.art.pads_at(opening.side)
    )


def _holes(result: Result) -> Iterator[Row]:
    tolerance, vias = result.design.order.hole_tolerance, result.coil.vias
    if not result.art.holes:
        yield "holes", "none", DESIGN
    else:
        allowed = "tolerance of the fab, 0.1 mm to either side at most"
        told = allowed if tolerance is None else f"+/- {mm(tolerance)}"
        yield "holes", f"round, through, sizes finished (table below); {told}", DESIGN
    yield "annular ring", _rings(result), DESIGN
    treated = {
        "tented": f"tented: covered by {film(result.design.board.stackup)} on both sides",
        "open": "open: bare on both sides",
        "filled": "filled with resin and covered (IPC-4761 type VI, value from memory)",
    }
    yield "vias", treated[result.design.order.vias] if vias else "none", ORDER if vias else DESIGN


def _rings(result: Result) -> str:
    """The least copper round a hole as drawn."""
    rings = [
        (pad.diameter - hole.diameter) / 2
        for hole in result.art.holes
        for pad in result.art.pads
        if pad.at == hole.at and hole.plated
    ]
    return f"{mm(min(rings))} as drawn, no breakout" if rings else "no plated hole"


def _has_fingers(result: Result) -> bool:
    return any(terminal.fingers for terminal in result.coil.terminals)


def _fingers(result: Result) -> str:
    """Which finger is which terminal, sizes, thickness; the connector sets finish and tolerance."""
    terminals, tail = result.design.terminals, result.coil.tail
    assert tail is not None, "contact fingers stand on a tail"
    named = {each.number: str(own.number) for own in result.coil.terminals for each in own.fingers}
    named |= {each.number: "none" for each in tail.idle_fingers}
    led = [named[number] for number in sorted(named)]
    first = next(each for each in led if each != "none")
    return (
        f"{len(led)} on the top, pitch {mm(terminals.pitch)}, {mm(terminals.pad)} wide, "
        f"{mm(terminals.finger_length)} bare; from terminal {first}'s side on they are of terminal "
        f"{', '.join(led)}; "
        f"{mm(fingers_thickness(result))} thick over all there, +/- 0.05 mm unless the connector asks for "
        "less; no solder, no solder paste"
    )


def fingers_thickness(result: Result) -> float:
    """Of the board at its contact fingers, m: bare on the top, with coverlay and stiffeners on the bottom."""
    stackup, tail = result.design.board.stackup, result.coil.tail
    assert tail is not None, "contact fingers stand on a tail"
    below = stackup.mask_thickness if "bottom" in stackup.masked_faces else 0.0
    middle = np.array([tail.at(tail.length - result.design.rules.limit("copper_to_edge") - 1e-6)])
    glued = [sheet for sheet in result.art.stiffeners if contains(sheet.path, middle)[0]]
    return stackup.thickness + below + sum(sheet.thickness + sheet.adhesive for sheet in glued)


def _stiffeners(result: Result) -> str:
    told = [
        f"{sheet.side}: {sheet.material} {mm(sheet.thickness)} on adhesive of {mm(sheet.adhesive)}, "
        f"{mm(_size(sheet.path).real)} x {mm(_size(sheet.path).imag)}"
        for sheet in result.art.stiffeners
    ]
    if not told:
        return "none"
    wired = any(terminal.drill for terminal in result.coil.terminals)
    pads = ", at terminals as wide as their pads" if wired else ""
    return "; ".join([*told, f"open where cut-outs and holes are{pads}, vias covered"])


def _size(path: Path) -> Point:
    low, high = extent(path)
    return high - low


def _acceptance(result: Result) -> Iterator[Row]:
    standard = "IPC-6013" if result.design.board.stackup.flexible else "IPC-6012"
    yield "impedance control", "none", DESIGN
    if _has_fingers(result):
        yield "contact fingers", _fingers(result), DESIGN
        yield "edge plating, press-fit holes", "none", DESIGN
    else:
        yield "edge plating, contact fingers, press-fit holes", "none", DESIGN
    yield "performance class", f"{standard} class {result.design.order.ipc_class}", ORDER
    yield "electrical test", "every board, as below; the standing limits of a tester do not suit", DESIGN
