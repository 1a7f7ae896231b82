"""How random designs draw an array: now and then one winding is repeated, mostly with room for all."""

import math

from drawing import Drawn, Key, homes, plain


def _one(d: Drawn) -> bool:
    return not isinstance(d.tables.get("winding"), list)


def _size(d: Drawn) -> float:
    """Over a coil with its pads, mm; over the first of several windings, whose array is refused."""
    size = plain(homes(d.tables, ["winding"])[0].get("outer_size"))
    across = max(size) if isinstance(size, list) else size
    return 1.3 * (across or 20.0) + 4


def _wedge(d: Drawn) -> bool:
    return bool(d["winding.shape"] == "wedge")


def _ring(d: Drawn) -> bool:
    return bool(d.of("arrangement") == "ring")


def _radius(d: Drawn) -> object:
    least = _size(d) / (2 * math.sin(math.pi / max(d.of("count") or 2, 2)))
    return d.quantity(least * d.pick(1.0, 1.0, 1.1, 1.5, 0.5))


def _pitch(d: Drawn) -> object:
    size = _size(d) * d.pick(1.0, 1.0, 1.1, 0.5)
    grid = d.of("arrangement") == "grid" and d.chance(0.6)
    return d.lengths(size, d.pick(1.1, 1.6, 2.2) * size) if grid else d.quantity(size)


_OF_ONE = {"tail": ("leads", "width"), "terminals": ("count", "fingers", "distance")}
"""Keys that suit the two leads of one winding."""


def enough_room(d: Drawn) -> None:
    """Mostly on a board as large as it needs, and on a tail as wide."""
    board = d.tables.get("board")
    if board is not None and d.chance(0.8):
        for key in ("outline", "size", "width", "height", "corner_radius", "offset"):
            board.pop(key, None)
    if d["tail"] is not None and d.chance(0.8):
        for table, keys in _OF_ONE.items():
            for key in keys:
                d.tables.get(table, {}).pop(key, None)
        d.tables.pop("pocket", None)


def _begun(d: Drawn) -> dict:
    enough_room(d)
    return {}


def _joined(d: Drawn) -> bool:
    return d.of("coils") in ("series", "parallel")


def _number(d: Drawn) -> int:
    count = d.of("count") or (d.of("columns") or 1) * (d.of("rows") or 1)
    return int(count) if isinstance(count, int) else 1


def _phases(d: Drawn) -> int:
    return d.pick(*[each for each in (1, 2, 3, 4) if _number(d) % each == 0], d.pick(1, 2, 3))


def _dealt(d: Drawn) -> int:
    return d.of("phases") or (1 if _number(d) % 3 else 3)


def _order(d: Drawn) -> str:
    letters = list("ABCD"[: _dealt(d)] * max(_number(d) // _dealt(d), 1))
    d.random.shuffle(letters)
    return "".join(d.pick(letter, letter.lower()) for letter in letters)


def _connection(d: Drawn) -> str:
    return d.pick("open", "star", "delta") if _dealt(d) > 2 or d.chance(0.05) else "open"


def _coils(d: Drawn) -> str:
    """Only joined ones go down a tail."""
    return d.pick("open" if d["tail"] is None or d.chance(0.1) else "series", "series", "series", "parallel")


def _side(d: Drawn) -> str:
    return d.pick("outside", "inside") if _ring(d) else d.pick("below", "above")


ARRAY = (
    Key(
        path="array", rule=_begun, share=0.24, where=lambda d: _one(d) and (bool(d["tail"]) or d.chance(0.25))
    ),
    Key(path="array.arrangement", rule=lambda d: d.pick("ring", "row", "grid")),
    Key(
        path="array.count",
        rule=lambda d: d.pick(1, 2, 3, 4, 6, 6, 9),
        where=lambda d: d.of("arrangement") != "grid",
    ),
    Key(path="array.columns", rule=lambda d: d.pick(1, 2, 3), where=lambda d: d.of("arrangement") == "grid"),
    Key(path="array.rows", rule=lambda d: d.pick(1, 2, 3), where=lambda d: d.of("arrangement") == "grid"),
    Key(path="array.radius", rule=_radius, where=lambda d: _ring(d) and not _wedge(d)),
    Key(path="array.pitch", rule=_pitch, where=lambda d: not _ring(d)),
    Key(path="array.phases", rule=_phases, share=0.4),
    Key(path="array.phase_order", rule=_order, share=0.3),
    Key(path="array.coils", rule=_coils, where=lambda d: bool(d["tail"]) or d.chance(0.6)),
    Key(path="array.connection", rule=_connection, share=0.7, where=_joined),
    Key(path="array.joints", rule=_side, share=0.3, where=_joined),
    Key(
        path="array.joint_width",
        rule=lambda d: d.quantity(d.spread(0.2, 1.0)),
        share=0.4,
        where=_joined,
    ),
    Key(
        path="variant.array",
        rule=lambda d: {"coils": "open", "connection": "open"},
        share=0.3,
        where=lambda d: "array" in d.tables,
    ),
)
