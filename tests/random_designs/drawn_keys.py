"""How each key of the design file is drawn, in the order in which later ones read earlier ones.

A new key of the design file needs a line here: a test holds the table to the file's schema.
"""

import math
from functools import partial

from drawing import Drawn, Key, Written, plain
from drawn_arrays import ARRAY, enough_room
from drawn_movers import MOVER
from drawn_tails import FLEXING, TAIL, kind, tailed

from coilgen.catalogue import names, rows
from coilgen.design.measure import Measure, measure_of
from coilgen.units import quantity

SHAPES = names("coilgen.layout.shapes")
LIMITS = {
    "trace_width": (0.05, 0.3),
    "trace_spacing": (0.05, 0.3),
    "annular_ring": (0.05, 0.25),
    "drill_diameter": (0.1, 0.6),
    "hole_to_hole": (0.1, 1.0),
    "copper_to_edge": (0.1, 2.0),
    "copper_to_pocket": (0.1, 1.0),
    "hole_to_pocket": (0.1, 1.0),
    "pocket_corner_radius": (0.1, 1.5),
    "mask_web": (0.05, 1.0),
    "mask_opening": (0.01, 0.2),
    "coverlay_hold": (0.05, 0.3),
    "legend_clearance": (0.05, 0.6),
    "board_size": (10, 400),
}
CONTACTS = tuple(rows("contacts"))


def materials(sort: str) -> tuple[str, ...]:
    return tuple(name for name, row in rows("materials").items() if row["sort"] == sort)


SOFT = materials("soft-magnetic")


def length(low: float, high: float):
    """A length in mm, evenly over its logarithm."""
    return lambda d: d.quantity(d.spread(low, high))


def number(low: float, high: float, dimension: str = "number"):
    return lambda d: d.quantity(d.spread(low, high), dimension)


def level(low: float, high: float, dimension: str = "number"):
    return lambda d: d.quantity(d.between(low, high), dimension)


def one(*options):
    return lambda d: d.pick(*options)


# Four of the winding's five numbers are written, now and then all.


def _turns(d: Drawn) -> Written:
    whole = float(d.random.randint(1, d.pick(3, 8, 8, 20, 40)))
    parts = d.pick(0.0, 0.0, 0.0, 0.0, 0.5, 0.25, 0.75, round(d.between(0, 1), 2))
    turns = whole + parts
    return Written(turns, int(turns) if turns == int(turns) and d.chance(0.7) else turns)


def _measure(d: Drawn) -> Measure:
    found = measure_of(d["winding.shape"])
    assert found is not None
    return found


def _opening(d: Drawn) -> Written:
    """One size or two, of which the lesser counts for what else is drawn."""
    inner = d.quantity(d.spread(4, 40))
    if _measure(d).count == 1:
        return inner
    both = [inner.text, d.quantity(inner.value * d.spread(1.2, 2.5)).text]
    return Written(inner.value, both if d.chance(0.5) else both[::-1])


def _is_wedge(d: Drawn) -> bool:
    return _measure(d).sector


def _winding_room(d: Drawn) -> float:
    """Of the turns on one side, mm."""
    return d.of("turns") * (d.of("trace_width") + d.of("trace_spacing"))


def _wedge_radius(d: Drawn) -> Written:
    """Mostly one whose opening is as wide as high inside."""
    half = d.of("inner_size") / 2 + _winding_room(d)
    return d.quantity(half / math.sin(math.radians((d.of("angle") or 60.0) / 2)) * d.spread(0.7, 2.0))


def _left_out(d: Drawn) -> None:
    """One of the five is taken back, and the table's numbers are made to agree."""
    table, measure = d.table, _measure(d)
    turns, width, spacing, inner = (
        d.of(key) for key in ("turns", "trace_width", "trace_spacing", "inner_size")
    )
    room = 2 * (turns * width + (turns - 1) * spacing)
    if measure.sector:
        radius, half = d.of("inner_radius") or 10.0, math.radians((d.of("angle") or 60.0) / 2)
        table["outer_size"] = Written(2 * (radius + inner + room) * math.sin(half), None)
        if d.chance(0.3):
            table["outer_radius"] = Written(radius + inner + room, float(f"{radius + inner + room:.12g}"))
            table["inner_radius"] = Written(radius, None)
        return
    if measure.corners % 2:
        # From a flat to the opposite corner sizes grow by more; only the program tells by how much.
        table["outer_size"] = Written(inner + 1.5 * room, None)
        return
    text = table["inner_size"].text
    if isinstance(text, list):
        sides = [quantity(side, "length") * 1e3 if isinstance(side, str) else side for side in text]
        table["outer_size"] = Written(max(sides) + room, [float(f"{side + room:.12g}") for side in sides])
        exact: object = [float(f"{side:.12g}") for side in sides]
    else:
        table["outer_size"] = Written(inner + room, float(f"{inner + room:.12g}"))
        exact = float(f"{inner:.12g}")
    left = d.pick(
        "inner_size", "inner_size", "outer_size", "outer_size", "turns", "trace_width", "trace_spacing", ""
    )
    if left == "trace_spacing" and turns == 1:
        left = "outer_size"
    if not left:
        table["inner_size"] = Written(inner, exact)
        for key in ("turns", "trace_width", "trace_spacing"):
            table[key] = Written(d.of(key), float(f"{d.of(key):.12g}"))
    if left:
        table[left] = Written(d.of(left), None)


def _stackup(d: Drawn):
    layers, flexible = d["winding.layers"] or 1, d.chance(0.2)
    if d.chance(0.15):
        return {}
    fitting = [name for name, row in rows("stackups").items() if len(row["copper"]) >= layers]
    matching = [name for name in fitting if name.startswith("flex") == flexible]
    return d.pick(*(tuple(rows("stackups")) if d.chance(0.03) else matching or fitting))


def _layers(d: Drawn) -> int:
    """Copper layers of a stack-up drawn as a table."""
    return len(d.of("copper") or [1])


def _copper(d: Drawn) -> Written:
    count = min(16, (d["winding.layers"] or 1) + d.pick(0, 0, 1, 2))
    return d.lengths(*(d.pick(0.018, 0.035, 0.07, 0.105) for _ in range(count)))


def _dielectric(d: Drawn) -> Written:
    return d.lengths(*(d.spread(0.025, 1.6) for _ in range(max(1, _layers(d) - 1))))


def _limit(name: str, low: float, high: float):
    zero = name not in ("trace_width", "trace_spacing", "drill_diameter", "board_size")
    return lambda d: d.quantity(0.0 if zero and d.chance(0.15) else d.spread(low, high))


def _over_winding(d: Drawn) -> Written:
    return d.quantity(d["winding.outer_size"] + d.pick(d.between(5, 14), d.spread(0.5, 20)))


def _shortest(d: Drawn) -> float:
    sides = [d.of(key) for key in ("size", "width", "height")]
    return min([side for side in sides if side is not None], default=5.0)


def _in_opening(d: Drawn) -> Written:
    """A pocket with room round it, or with little."""
    room = d.pick(4.0, 3.0, 1.0)
    return d.quantity(max(0.3, (d["winding.inner_size"] - room) * d.between(0.3, 1)))


def _pocket_size(d: Drawn) -> Written:
    """One number or two, of which the lesser counts for what else is drawn."""
    size = _in_opening(d)
    if d.of("shape") not in ("rectangular", "racetrack"):
        return size
    both = [size.text, d.quantity(size.value * d.between(0.4, 0.95)).text]
    return Written(size.value / 2, both if d.chance(0.5) else both[::-1])


def _drilled(d: Drawn) -> bool:
    return (d.of("kind") or "plated-hole") == "plated-hole"


RECTANGULAR, ROUND = ("plate", "bar", "block"), ("disc", "rod", "ring")


def _body(table: str, form: str, forms: tuple[str, ...], high: float) -> tuple[Key, ...]:
    """Keys of a body's form and measures; of a core in the pocket they follow from it."""

    def across(d: Drawn) -> Written:
        if d.of("place") == "pocket":
            return d.quantity((d["pocket.size"] or 5.0) * d.between(0.5, 0.99))
        return d.quantity(d.spread(1, high))

    def takes(*forms: str):
        def fits(d: Drawn) -> bool:
            return (d.of("form") or ("rod" if d.of("place") == "pocket" else form)) in forms

        return fits

    return (
        Key(path=f"{table}.form", rule=one(*forms), share=0.8),
        Key(path=f"{table}.width", rule=across, where=takes(*RECTANGULAR)),
        Key(path=f"{table}.depth", rule=across, where=takes(*RECTANGULAR), share=0.5),
        Key(path=f"{table}.diameter", rule=across, where=takes(*ROUND)),
        Key(
            path=f"{table}.hole_diameter",
            rule=lambda d: d.quantity((d.of("diameter") or 4) * d.between(0.2, 0.8)),
            where=takes("ring"),
        ),
        Key(path=f"{table}.thickness", rule=length(0.3, 6)),
    )


def _bh(d: Drawn) -> list[float]:
    """A rising B-H table's fields, A/m."""
    return [round(d.spread(5, 50), 2), 100.0, 1000.0, 10000.0]


def _soft(table: str) -> tuple[Key, ...]:
    """Keys of a soft-magnetic material written as a table."""

    def curve(d: Drawn) -> bool:
        return d.of("field_strength") is not None

    def free(d: Drawn) -> bool:
        return not curve(d)

    return (
        Key(path=table, rule=lambda d: {} if d.chance(0.3) else d.pick(*SOFT), share=0.8),
        Key(path=f"{table}.name", rule=one("own iron", "sample 7"), share=0.4),
        Key(path=f"{table}.like", rule=one(*SOFT), share=0.6),
        Key(path=f"{table}.field_strength", rule=_bh, share=0.3),
        Key(path=f"{table}.flux_density", rule=lambda d: [0.1, 0.8, 1.5, 1.9], where=curve),
        Key(path=f"{table}.permeability", rule=number(5, 5000), where=free),
        Key(path=f"{table}.saturation", rule=level(200, 2000, "flux density"), where=free, share=0.6),
        Key(
            path=f"{table}.knee",
            rule=one("steel", "rounded"),
            where=lambda d: d.of("saturation") is not None,
            share=0.4,
        ),
        Key(path=f"{table}.density", rule=level(3000, 9000), share=0.2),
        Key(path=f"{table}.resistivity", rule=number(1e-8, 10), share=0.2),
        Key(path=f"{table}.heat_conductivity", rule=number(1, 100), share=0.2),
        Key(path=f"{table}.heat_capacity", rule=level(300, 900), share=0.2),
    )


def _offset(d: Drawn) -> Written:
    return d.lengths(d.between(-2, 2), d.between(-2, 2))


def _face(d: Drawn) -> str:
    """Of a target: mostly the one without the magnet."""
    away = {"top": "bottom", "bottom": "top"}[d["magnet.place"] or "top"]
    return away if d["magnet"] is not None and d.chance(0.95) else d.pick("top", "bottom")


def _soft_body(d: Drawn) -> bool:
    return d["core"] is not None or d["target"] is not None


def _variants(d: Drawn) -> list[dict]:
    return [{} for _ in range(d.pick(1, 2))]


def _changed(key: str, rule) -> Key:
    """A table of a variant that changes one key."""
    table, _, name = key.partition(".")
    optional = table in ("pocket", "magnet", "target")
    return Key(
        path=f"variant.{table}",
        rule=lambda d: {name: rule(d)},
        share=0.15,
        where=lambda d: not optional or d[table] is not None,
    )


WINDING = (
    Key(path="winding", rule=lambda d: {}),
    Key(path="winding.shape", rule=one(*SHAPES)),
    Key(path="winding.layers", rule=one(1, 1, 2, 2, 2, 3, 4, 4, 5, 6, 7, 8), share=0.85),
    Key(path="winding.turns", rule=_turns),
    Key(path="winding.trace_width", rule=length(0.1, 1.0)),
    Key(path="winding.trace_spacing", rule=length(0.1, 0.6)),
    Key(path="winding.inner_size", rule=_opening),
    Key(path="winding.angle", rule=level(15, 150, "angle"), where=_is_wedge),
    Key(path="winding.inner_radius", rule=_wedge_radius, where=_is_wedge),
    Key(path="winding.outer_radius", rule=lambda d: None, where=_is_wedge),
    Key(path="winding.outer_size", rule=_left_out),
    Key(path="winding.direction", rule=one("counterclockwise", "clockwise"), share=0.7),
    Key(path="winding.connection", rule=one("series", "series", "parallel"), share=0.5),
    Key(path="winding.corner", rule=one("sharp", "chamfered", "rounded", "rounded"), share=0.6),
    Key(
        path="winding.corner_size",
        rule=lambda d: d.quantity(d.spread(0.1, max(0.2, d["winding.inner_size"] / 2))),
        where=lambda d: (d.of("corner") or "sharp") != "sharp",
        share=0.7,
    ),
)

BOARD = (
    Key(path="board", rule=lambda d: {}, share=0.9),
    Key(path="board.stackup", rule=_stackup, share=0.8),
    Key(path="board.stackup.name", rule=one("own", "two thin ones"), share=0.4),
    Key(path="board.stackup.material", rule=one(*materials("laminate")), share=0.6),
    Key(path="board.stackup.copper", rule=_copper),
    Key(path="board.stackup.dielectric", rule=_dielectric),
    Key(
        path="board.stackup.permittivity",
        rule=lambda d: [round(d.between(2, 10), 2) for _ in range(max(1, _layers(d) - 1))],
        share=0.3,
    ),
    Key(path="board.stackup.mask_thickness", rule=length(0.01, 0.06), share=0.3),
    Key(path="board.stackup.mask_permittivity", rule=level(2, 6), share=0.3),
    Key(path="board.stackup.flexible", rule=one(True, False), share=0.2),
    Key(path="board.outline", rule=one("none", "round", "square", "rectangle"), share=0.8),
    Key(
        path="board.size",
        rule=_over_winding,
        where=lambda d: d.of("outline") in ("round", "square"),
        share=0.7,
    ),
    Key(path="board.width", rule=_over_winding, where=lambda d: d.of("outline") == "rectangle", share=0.8),
    Key(
        path="board.height",
        rule=_over_winding,
        where=lambda d: d.of("outline") == "rectangle" and d.of("width") is not None,
    ),
    Key(
        path="board.offset",
        rule=lambda d: [round(d.between(-1.5, 1.5), 2), round(d.between(-1.5, 1.5), 2)],
        where=lambda d: d.of("outline") not in (None, "none"),
        share=0.15,
    ),
    Key(
        path="board.corner_radius",
        rule=lambda d: d.quantity(_shortest(d) / 2 * d.pick(d.between(0, 1), d.spread(0.01, 1))),
        where=lambda d: d.of("outline") in ("square", "rectangle"),
        share=0.6,
    ),
)

RULES = (
    Key(path="rules", rule=lambda d: {}, share=0.7),
    Key(path="rules.shop", rule=one(*rows("shops")), share=0.7),
    *(Key(path=f"rules.{limit}", rule=_limit(limit, *span), share=0.06) for limit, span in LIMITS.items()),
    Key(path="rules.isolation_voltage", rule=level(5, 600, "voltage"), share=0.1),
    Key(path="rules.drill_aspect_ratio", rule=level(2, 12), share=0.06),
    Key(path="rules.layer_count", rule=one(1, 2, 4, 6, 16), share=0.06),
)

PARTS = (
    Key(path="pocket", rule=lambda d: {}, share=0.45),
    Key(
        path="pocket.shape",
        rule=one("round", "round", "square", "hexagonal", "rectangular", "racetrack", "wedge"),
        share=0.8,
    ),
    Key(path="pocket.size", rule=_pocket_size, where=lambda d: d.of("shape") != "wedge"),
    Key(path="pocket.angle", rule=level(20, 90, "angle"), where=lambda d: d.of("shape") == "wedge"),
    Key(path="pocket.inner_radius", rule=length(2, 30), where=lambda d: d.of("shape") == "wedge"),
    Key(
        path="pocket.outer_radius",
        rule=lambda d: d.quantity((d.of("inner_radius") or 5.0) + _in_opening(d).value),
        where=lambda d: d.of("inner_radius") is not None,
    ),
    Key(
        path="pocket.corner_radius",
        rule=lambda d: d.quantity((d.of("size") or 3.0) / 2 * d.between(0.05, 1)),
        where=lambda d: d.of("shape") not in (None, "round", "racetrack"),
        share=0.4,
    ),
    Key(path="via", rule=lambda d: {}, share=0.5),
    Key(path="via.drill", rule=length(0.2, 0.6), share=0.7),
    Key(path="via.pad", rule=lambda d: d.quantity((d.of("drill") or 0.3) + d.between(0.15, 0.6)), share=0.5),
    Key(path="via.count", rule=one(1, 2, 2, 3, 4), share=0.5),
    *TAIL,
    Key(path="terminals", rule=lambda d: {}, share=0.6),
    Key(path="terminals.kind", rule=kind, share=0.7),
    Key(path="terminals.drill", rule=length(0.5, 1.5), where=_drilled, share=0.5),
    Key(
        path="terminals.pad",
        rule=lambda d: d.quantity((d.of("drill") or 1.0) + d.spread(0.2, 1.5)),
        share=0.5,
    ),
    Key(
        path="terminals.pitch",
        rule=lambda d: d.quantity((d.of("pad") or (d.of("drill") or 1.0) + 0.8) + d.spread(0.2, 20)),
        share=0.5,
    ),
    Key(
        path="terminals.side",
        rule=one("north", "east", "south", "west"),
        where=lambda d: not tailed(d),
        share=0.7,
    ),
    Key(
        path="terminals.distance",
        rule=lambda d: d.quantity(d["winding.outer_size"] / 2 + d.spread(1.5, 12)),
        where=lambda d: not tailed(d),
        share=0.2,
    ),
    *FLEXING,
)

DRIVE = (
    Key(path="drive", rule=lambda d: {}, share=0.7),
    Key(path="drive.voltage", rule=number(0.05, 48, "voltage"), share=0.6),
    Key(
        path="drive.current",
        rule=number(0.01, 3, "current"),
        where=lambda d: d.of("voltage") is None,
        share=0.6,
    ),
    Key(path="drive.waveform", rule=one("dc", "square", "sine"), share=0.7),
    Key(
        path="drive.frequency",
        rule=number(5, 2e6, "frequency"),
        where=lambda d: d.of("waveform") in ("square", "sine"),
    ),
    Key(path="drive.duty", rule=level(0.05, 0.95), where=lambda d: d.of("waveform") == "square", share=0.5),
    Key(
        path="drive.current_limit",
        rule=number(0.01, 3, "current"),
        where=lambda d: d.of("current") is None and d.of("waveform") != "sine",
        share=0.3,
    ),
    Key(path="drive.pulse", rule=number(1e-3, 100, "time"), share=0.3),
    Key(path="drive.clamp", rule=number(0.3, 100, "voltage"), share=0.3),
    Key(path="drive.ambient", rule=level(-40, 85, "temperature"), share=0.4),
    Key(path="probe", rule=lambda d: {}, share=0.3),
    Key(
        path="probe.heights",
        rule=lambda d: d.lengths(*(d.pick(0.0, d.spread(0.1, 30)) for _ in range(d.random.randint(1, 5)))),
    ),
)

BODIES = (
    Key(path="core", rule=lambda d: [{} for _ in range(d.pick(1, 1, 2))], share=0.18),
    Key(
        path="core.place",
        rule=lambda d: d.pick("top", "bottom", "pocket" if d["pocket"] else "top"),
        share=0.8,
    ),
    *_body("core", "plate", ("plate", "disc", "ring", "rod"), 50),
    *_soft("core.material"),
    Key(path="core.gap", rule=length(0.01, 1), where=lambda d: d.of("place") != "pocket", share=0.4),
    Key(path="core.gap_tolerance", rule=length(0.01, 0.1), share=0.2),
    Key(
        path="core.rise",
        rule=lambda d: d.quantity(d.between(-0.5, 1)),
        where=lambda d: d.of("place") == "pocket",
        share=0.5,
    ),
    Key(path="core.contact", rule=one(*CONTACTS), share=0.3),
    Key(path="magnet", rule=lambda d: {}, share=0.18),
    *_body("magnet", "disc", ("disc", "ring", "block"), 20),
    Key(path="magnet.grade", rule=one(*rows("magnets")), share=0.7),
    Key(
        path="magnet.remanence",
        rule=level(200, 1400, "flux density"),
        where=lambda d: d.of("grade") is None,
    ),
    Key(path="magnet.pole", rule=one("up", "down", "north", "east", "south", "west"), share=0.7),
    Key(path="magnet.place", rule=one("top", "bottom"), share=0.6),
    Key(path="magnet.gap", rule=length(0.05, 10)),
    Key(path="magnet.gap_tolerance", rule=length(0.01, 0.1), share=0.2),
    Key(path="magnet.offset", rule=_offset, share=0.3),
    Key(path="magnet.contact", rule=one(*CONTACTS), share=0.15),
    Key(path="target", rule=lambda d: {}, share=0.12),
    *_body("target", "plate", ("plate", "bar", "disc", "ring"), 40),
    *_soft("target.material"),
    Key(path="target.mass", rule=number(0.1, 100, "mass"), share=0.5),
    Key(path="target.place", rule=_face, share=0.9),
    Key(path="target.gap", rule=length(0.05, 5)),
    Key(path="target.gap_tolerance", rule=length(0.01, 0.1), share=0.2),
    Key(path="target.offset", rule=_offset, share=0.3),
)

MOUNTING = (
    Key(path="mounting", rule=lambda d: {}, share=0.5),
    Key(path="mounting.orientation", rule=one("face-up", "face-down", "vertical"), share=0.6),
    Key(path="mounting.emissivity", rule=level(0.05, 1.0), share=0.4),
    Key(path="mounting.contact", rule=one(*CONTACTS), share=0.4),
    Key(
        path="mounting.contact_resistance",
        rule=lambda d: sorted(float(f"{d.spread(1e-5, 1e-2):.3g}") for _ in range(3)),
        where=lambda d: d.of("contact") is None,
        share=0.3,
    ),
    Key(path="mounting.forced_convection", rule=number(5, 200), share=0.2),
    Key(path="mounting.limit_temperature", rule=level(40, 150, "temperature"), share=0.4),
    Key(path="mounting.base_plate", rule=lambda d: {}, share=0.3),
    Key(path="mounting.base_plate.material", rule=one(*materials("plate")), share=0.7),
    Key(path="mounting.base_plate.place", rule=one("top", "bottom"), share=0.5),
    Key(path="mounting.base_plate.shape", rule=one("round", "rectangle"), share=0.6),
    Key(path="mounting.base_plate.diameter", rule=length(10, 100), where=lambda d: d.of("shape") == "round"),
    Key(path="mounting.base_plate.width", rule=length(10, 100), where=lambda d: d.of("shape") != "round"),
    Key(
        path="mounting.base_plate.depth",
        rule=length(10, 100),
        where=lambda d: d.of("shape") != "round",
        share=0.5,
    ),
    Key(path="mounting.base_plate.thickness", rule=length(0.5, 10)),
    Key(path="mounting.base_plate.emissivity", rule=level(0.05, 1.0), share=0.3),
    Key(path="mounting.base_plate.contact", rule=one(*CONTACTS), share=0.4),
)

TOLERANCE = (
    Key(path="tolerance", rule=lambda d: {}, share=0.25),
    Key(path="tolerance.trace_width", rule=length(0.005, 0.05), share=0.4),
    Key(path="tolerance.copper_thickness", rule=level(0.0, 0.3), share=0.4),
    Key(
        path="tolerance.plating",
        rule=lambda d: d.lengths(d.between(0.015, 0.02), d.between(0.02, 0.03)),
        share=0.3,
    ),
    Key(path="tolerance.dielectric_thickness", rule=level(0.0, 0.2), share=0.3),
    Key(path="tolerance.permittivity", rule=level(0.0, 0.2), share=0.3),
    Key(path="tolerance.mask_thickness", rule=level(0.0, 0.5), share=0.3),
    Key(path="tolerance.permeability", rule=level(0.0, 0.5), where=_soft_body, share=0.3),
    Key(path="tolerance.saturation", rule=level(0.0, 0.2), where=_soft_body, share=0.3),
    Key(
        path="tolerance.remanence",
        rule=level(0.0, 0.1),
        where=lambda d: d["magnet"] is not None,
        share=0.3,
    ),
    Key(path="tolerance.conductivity", rule=level(0.0, 0.1), share=0.3),
    Key(path="tolerance.convection", rule=level(0.0, 0.4), share=0.3),
    Key(path="tolerance.voltage", rule=level(0.0, 0.1), share=0.4),
    Key(path="tolerance.ambient", rule=level(0.0, 20.0), share=0.4),
    Key(path="tolerance.gap", rule=length(0.01, 0.1), share=0.3),
)

ORDER = (
    Key(path="order", rule=lambda d: {}, share=0.3),
    Key(path="order.finish", rule=one("enig", "osp", "hard-gold"), share=0.4),
    Key(path="order.soldermask_colour", rule=one("green", "black", "white"), share=0.4),
    Key(path="order.legend_colour", rule=one("white", "yellow"), share=0.4),
    Key(path="order.ipc_class", rule=one(2, 3), share=0.4),
    Key(path="order.thickness_tolerance", rule=level(0.05, 0.2), share=0.4),
    Key(path="order.copper_tolerance", rule=level(0.05, 0.3), share=0.4),
    Key(path="order.tg", rule=level(110, 200, "temperature"), share=0.4),
    Key(path="order.hole_tolerance", rule=length(0.05, 0.1), share=0.4),
    Key(path="order.pocket_tolerance", rule=length(0.05, 0.2), share=0.4),
    Key(path="order.delivery", rule=one("single", "panel"), share=0.4),
    Key(path="order.quantity", rule=one(1, 10, 5000), share=0.4),
    Key(path="order.vias", rule=one("tented", "open", "filled"), share=0.5),
)

VARIANTS = (
    Key(path="variant", rule=_variants, share=0.1),
    Key(path="variant.name", rule=lambda d: f"other {d.random.randint(1, 10**6)}"),
    Key(
        path="variant.without",
        rule=lambda d: (
            [key for key in ("core", "magnet", "target", "pocket", "mounting") if d[key]][:1] or None
        ),
        share=0.4,
    ),
    Key(path="variant.note", rule=one("another one"), share=0.2),
    _changed("winding.direction", one("clockwise", "counterclockwise")),
    _changed("board.stackup", one("rigid-8-layer-1.6mm")),
    _changed("rules.mask_web", length(0.05, 0.3)),
    _changed("pocket.size", length(1, 2)),
    _changed("via.count", one(1, 2)),
    _changed("terminals.side", one("north", "south")),
    _changed("drive.ambient", level(0, 50, "temperature")),
    _changed("probe.heights", lambda d: [1, 2]),
    _changed("magnet.gap", length(0.5, 3)),
    _changed("target.gap", length(0.5, 3)),
    _changed("mounting.orientation", one("vertical")),
    _changed("tolerance.trace_width", length(0.01, 0.04)),
    _changed("order.vias", one("tented", "open")),
    Key(path="variant.revision", rule=one("B2"), share=0.1),
    Key(path="variant.tail", rule=lambda d: {"root_radius": d.pick(0, 1)}, where=tailed, share=0.4),
    Key(
        path="variant.stiffener",
        rule=lambda d: [{"thickness": d.pick(0.1, 0.3)}],
        where=lambda d: d["stiffener"] is not None,
        share=0.4,
    ),
    Key(
        path="variant.bend",
        rule=lambda d: [{"at": (d["tail.length"] or 20) / 2, "radius": d.pick(1, 3)}],
        where=lambda d: d["bend"] is not None,
        share=0.4,
    ),
    Key(path="variant.hole", rule=lambda d: [{"at": [0, 40], "diameter": 1}], share=0.05),
    Key(path="variant.core", rule=lambda d: [{"thickness": 1, "width": 10}], share=0.15),
)

FIRST = ("kind", "shape", "voltage")
"""The first key of each table of a winding's own."""


_AT_THE_END = ("kind", "pad", "drill", "pitch", "distance", "lead_width", "length", "count", "fingers")
"""Keys of terminals that all windings on a tail share."""


def _several(d: Drawn) -> list[dict]:
    """The winding that was drawn, from one to six times, side by side or now and then over each other.

    Beside a tail mostly on a board as large as they need.
    """
    count, own = d.pick(1, 2, 2, 3, 4, 6), d.tables["winding"]
    if tailed(d):
        enough_room(d)
    across = 1.3 * (plain(own.get("outer_size")) or 20.0) + 4
    apart = 0.0 if d.chance(0.1) else across
    return [{**own, "name": f"w{k}", "centre": [round(apart * k, 3), 0]} for k in range(count)]


def _many(d: Drawn) -> bool:
    return isinstance(d.tables.get("winding"), list)


def _of_one(name: str, d: Drawn) -> bool:
    """Whether a winding of several has a key of its own; with a tail only the side of its terminals."""
    return _many(d) and (not tailed(d) or name not in _AT_THE_END)


def _outside(d: Drawn) -> float:
    """Half of the first winding's size, mm."""
    return (plain(d.tables["winding"][0].get("outer_size")) or 20.0) / 2


def _at_times(share: float, rule):
    """A rule of keys that are left out mostly."""
    return lambda d: rule(d) if d.chance(share) else None


def _given(key: str, rule, *, wanted: bool = True):
    """A rule that holds where another key of the table is written, or where it is not."""
    return lambda d: rule(d) if (d.of(key) is not None) == wanted else None


def _waved(rule, *waveforms: str):
    """A rule of keys that some waveforms have."""
    return lambda d: rule(d) if d.of("waveform") in waveforms else None


def _layers_of_one(d: Drawn) -> list[int]:
    """Layers in place of their number; lower ones at times."""
    count = plain(d.table.pop("layers", None)) or 1
    first = d.pick(1, 1, 2)
    return list(range(first, first + count))


def _idle_at_times(d: Drawn) -> object:
    """A current; at times none: nothing drives the winding."""
    return 0 if d.chance(0.3) else level(0.01, 0.2, "current")(d)


SEVERAL = (
    Key(path="winding", rule=_several, where=lambda d: tailed(d) or d.chance(0.25), share=0.32),
    Key(path="winding.name", rule=lambda d: d.of("name"), where=_many),
    Key(path="winding.copper_layers", rule=_layers_of_one, share=0.4, where=_many),
    Key(path="winding.centre", rule=lambda d: d.of("centre"), where=_many),
    Key(
        path="winding.rotation",
        rule=one(0, 90, "30 deg", -12.5),
        share=0.4,
        where=lambda d: _many(d) and (not tailed(d) or d.chance(0.3)),
    ),
    *(
        key
        for table, name, rule in (
            ("terminals", "kind", one("plated-hole")),
            ("terminals", "pad", length(1.6, 2.2)),
            ("terminals", "drill", length(0.8, 1.0)),
            ("terminals", "pitch", length(3, 5)),
            ("terminals", "side", one("south", "north")),
            ("terminals", "distance", _at_times(0.2, lambda d: d.quantity(_outside(d) + d.spread(2, 8)))),
            ("terminals", "lead_width", _at_times(0.05, length(0.2, 1))),
            ("terminals", "length", _at_times(0.05, length(2, 5))),
            ("terminals", "count", _at_times(0.05, one(2, 4))),
            ("terminals", "fingers", _at_times(0.05, one([1, 2]))),
            ("pocket", "shape", one("round", "round", "square", "wedge")),
            ("pocket", "size", lambda d: None if d.of("shape") == "wedge" else length(1, 2)(d)),
            ("pocket", "angle", lambda d: level(15, 60, "angle")(d) if d.of("shape") == "wedge" else None),
            ("pocket", "inner_radius", _given("angle", length(5, 15))),
            (
                "pocket",
                "outer_radius",
                _given("inner_radius", lambda d: d.quantity(d.of("inner_radius") + 1.5)),
            ),
            ("pocket", "corner_radius", _at_times(0.2, length(0.2, 0.5))),
            ("drive", "voltage", _at_times(0.4, number(0.05, 2, "voltage"))),
            ("drive", "current", _given("voltage", _idle_at_times, wanted=False)),
            ("drive", "current_limit", _given("voltage", _at_times(0.3, number(0.01, 1, "current")))),
            ("drive", "waveform", one("dc", "dc", "dc", "square", "sine")),
            ("drive", "frequency", _waved(number(5, 1e6, "frequency"), "square", "sine")),
            ("drive", "duty", _waved(_at_times(0.5, level(0.05, 0.95)), "square")),
            ("drive", "pulse", _at_times(0.1, number(1e-3, 100, "time"))),
            ("drive", "clamp", _at_times(0.1, number(0.3, 100, "voltage"))),
            ("drive", "ambient", _at_times(0.1, level(-40, 85, "temperature"))),
        )
        for key in (
            *([Key(path=f"winding.{table}", rule=lambda d: {}, share=0.2, where=_many)] * (name in FIRST)),
            Key(path=f"winding.{table}.{name}", rule=rule, share=0.8, where=partial(_of_one, name)),
        )
    ),
    Key(path="hole", rule=lambda d: [{}], share=0.3, where=lambda d: _many(d) or d.chance(0.3)),
    Key(path="hole.at", rule=lambda d: [round(d.between(-25, 25), 2), round(d.between(-25, 25), 2)]),
    Key(path="hole.diameter", rule=length(0.5, 4)),
    Key(path="hole.plated", rule=one(True, False), share=0.5),
)

SEARCH = (
    Key(path="optimize", rule=lambda d: {}, share=0.05),
    Key(path="optimize.smallest", rule=one("resistance_20c", ["resistance_20c"])),
    Key(path="optimize.largest", rule=one("inductance", "turns_total"), share=0.3),
    Key(path="optimize.magnitude", rule=one(True, False), share=0.2),
    Key(path="optimize.vary", rule=lambda d: {"terminals": {"side": ["north", "south"]}}),
    Key(
        path="optimize.limits",
        rule=lambda d: {"mass": {"most": d.pick("5 g", 0.01), "sure": d.pick(True, False)}},
        share=0.5,
    ),
)

KEYS = (
    Key(path="name", rule=lambda d: d.pick("coil", "c", "A_b-9", "x" * d.random.randint(1, 64))),
    Key(path="note", rule=one("", "for the bench", "two\nlines", "ümläut"), share=0.3),
    Key(path="revision", rule=one("A", "b_2-x"), share=0.2),
    *WINDING,
    *BOARD,
    *RULES,
    *PARTS,
    *DRIVE,
    *BODIES,
    *MOUNTING,
    *TOLERANCE,
    *ORDER,
    *VARIANTS,
    *SEVERAL,
    *ARRAY,
    *MOVER,
    Key(path="sweep", rule=lambda d: {"terminals": {"side": ["north", "south"]}}, share=0.05),
    *SEARCH,
)
"""Every key of the design file."""
