"""How the keys of tails, contact fingers, stiffeners and bends are drawn."""

from drawing import Drawn, Key

from coilgen.catalogue import rows

LAMINATES = tuple(name for name, row in rows("materials").items() if row["sort"] == "laminate")


def tailed(d: Drawn) -> bool:
    """Whether the board has a tail."""
    return d["tail"] is not None


def _flexible(d: Drawn) -> bool:
    """Whether the board's stack-up bends, as far as its name tells."""
    return "flex" in str(d["board.stackup"])


def _has_room(d: Drawn) -> bool:
    """Boards with a tail are mostly flexible ones."""
    return d["board.outline"] != "none" and (_flexible(d) or d.chance(0.2))


def kind(d: Drawn) -> str:
    """Of terminals."""
    if tailed(d):
        return d.pick("contact-fingers", "contact-fingers", "surface-pad", "plated-hole")
    return d.pick("plated-hole", "surface-pad")


def _fingered(d: Drawn) -> bool:
    return d.of("kind") == "contact-fingers"


def _length(low: float, high: float):
    return lambda d: d.quantity(d.spread(low, high))


def _one(*options):
    return lambda d: d.pick(*options)


def _of_tail(low: float, high: float):
    return lambda d: d.quantity((d["tail.length"] or 20.0) * d.between(low, high))


def _beneath(d: Drawn):
    return d.pick("terminals", "terminals", "winding", [-4, -9, 4, 4]) if tailed(d) else "winding"


TAIL = (
    Key(path="tail", rule=lambda d: {}, where=_has_room, share=0.35),
    Key(path="tail.length", rule=_length(12, 60)),
    Key(path="tail.side", rule=_one("north", "east", "south", "west"), share=0.7),
    Key(path="tail.width", rule=_length(3, 12), share=0.3),
    Key(path="tail.offset", rule=lambda d: d.quantity(d.between(-3, 3)), share=0.3),
    Key(path="tail.root_radius", rule=_one(0, 0.5, 1, 2), share=0.4),
    Key(path="tail.leads", rule=_one("beside", "above"), share=0.5),
    Key(path="tail.lead_spacing", rule=_length(0.15, 1), where=lambda d: d.of("leads") != "above", share=0.3),
)

FLEXING = (
    Key(path="terminals.lead_width", rule=_length(0.1, 1), share=0.3),
    Key(path="terminals.length", rule=_length(1, 6), where=_fingered, share=0.5),
    Key(path="terminals.count", rule=_one(2, 4, 4, 5, 6), where=_fingered, share=0.5),
    Key(
        path="terminals.fingers",
        rule=_one([1, 1, 2, 2], [1, 2], [0, 1, 2, 0], [1, 0, 2], [1, 1, 2], [2, 1]),
        where=lambda d: _fingered(d) and d.of("count") is None,
        share=0.5,
    ),
    Key(path="stiffener", rule=lambda d: [{}], where=_flexible, share=0.3),
    Key(path="stiffener.beneath", rule=_beneath, share=0.6),
    Key(path="stiffener.place", rule=_one("bottom", "bottom", "bottom", "top"), share=0.5),
    Key(
        path="stiffener.length",
        rule=_length(3, 12),
        where=lambda d: d.of("beneath") in (None, "terminals"),
        share=0.3,
    ),
    Key(path="stiffener.material", rule=_one(*LAMINATES), share=0.5),
    Key(path="stiffener.thickness", rule=_length(0.05, 0.4)),
    Key(path="stiffener.adhesive", rule=_length(0.02, 0.06), share=0.4),
    Key(path="bend", rule=lambda d: [{}], where=lambda d: tailed(d) and _flexible(d), share=0.4),
    Key(path="bend.at", rule=_of_tail(0.25, 0.6)),
    Key(path="bend.radius", rule=_of_tail(0.05, 0.25)),
    Key(path="bend.angle", rule=lambda d: d.quantity(d.between(20, 120), "angle"), share=0.5),
    Key(path="bend.kind", rule=_one("once", "repeated"), share=0.4),
)
