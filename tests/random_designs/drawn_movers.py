"""How random designs draw the mover of an array: mostly one with room for its magnets."""

import math

from drawing import Drawn, Key


def _arranged(d: Drawn) -> bool:
    return "array" in d.tables and d["array.arrangement"] != "grid"


def _row(d: Drawn) -> bool:
    return bool(d["mover.arrangement"] == "row")


def _form(d: Drawn) -> str:
    forms = ("disc", "ring", "block", "one-piece")
    return d.pick(*forms) if _row(d) else d.pick(*forms, "segment")


def _whole_ring(d: Drawn) -> bool:
    return not _row(d) and d.of("form") in ("segment", "one-piece")


def _by_radius(d: Drawn) -> bool:
    return not _row(d) and d["mover.magnet.form"] not in ("segment", "one-piece")


def _pole(d: Drawn) -> float:
    """From pole to pole, mm."""
    pitch, radius = d["mover.pitch"], d["mover.radius"]
    return pitch or 2 * math.pi * (radius or 20.0) / (d["mover.poles"] or 4)


def _share(low: float, high: float):
    return lambda d: d.quantity(_pole(d) * d.between(low, high))


def _round(d: Drawn) -> bool:
    return d.of("form") in ("disc", "ring") or _whole_ring(d)


def _bored(d: Drawn) -> bool:
    return d.of("form") == "ring" or _whole_ring(d)


def _diameter(d: Drawn) -> object:
    return d.quantity(d.between(30, 60)) if _whole_ring(d) else d.quantity(_pole(d) * d.between(0.4, 0.85))


MOVER = (
    Key(path="mover", rule=lambda d: {}, share=0.5, where=_arranged),
    Key(path="mover.arrangement", rule=lambda d: d["array.arrangement"]),
    Key(path="mover.poles", rule=lambda d: d.pick(2, 4, 4, 8)),
    Key(path="mover.pitch", rule=lambda d: d.quantity(d.between(8, 30)), where=_row),
    Key(path="mover.gap", rule=lambda d: d.quantity(d.spread(0.3, 3))),
    Key(path="mover.gap_tolerance", rule=lambda d: d.quantity(d.between(0, 0.1)), share=0.2),
    Key(path="mover.place", rule=lambda d: d.pick("top", "bottom", "both"), share=0.6),
    Key(path="mover.magnet", rule=lambda d: {}),
    Key(path="mover.magnet.form", rule=_form),
    Key(path="mover.radius", rule=lambda d: d.quantity(d.between(10, 40)), where=_by_radius),
    Key(path="mover.magnet.diameter", rule=_diameter, where=_round),
    Key(
        path="mover.magnet.hole_diameter",
        rule=lambda d: d.quantity((d.of("diameter") or 8.0) * 0.5),
        where=_bored,
    ),
    Key(path="mover.magnet.width", rule=_share(0.3, 0.6), where=lambda d: d.of("form") == "block"),
    Key(
        path="mover.magnet.depth",
        rule=_share(0.3, 0.6),
        where=lambda d: d.of("form") == "block" or (_row(d) and d.of("form") == "one-piece"),
    ),
    Key(
        path="mover.magnet.angle",
        rule=lambda d: round(300 / (d["mover.poles"] or 4), 2),
        where=lambda d: d.of("form") == "segment",
    ),
    Key(path="mover.magnet.thickness", rule=lambda d: d.quantity(d.between(1, 4))),
    Key(path="mover.magnet.gap_tolerance", rule=lambda d: d.quantity(0.05), share=0.1),
    Key(path="mover.magnet.grade", rule=lambda d: d.pick("N35", "N42", "N52"), share=0.7),
    Key(
        path="mover.magnet.remanence",
        rule=lambda d: "1.1 T",
        where=lambda d: d.of("grade") is None,
    ),
    Key(path="mover.back_plate", rule=lambda d: {}, share=0.3),
    Key(path="mover.back_plate.thickness", rule=lambda d: d.quantity(d.between(0.5, 4))),
    Key(path="mover.back_plate.material", rule=lambda d: "low-carbon steel", share=0.3),
    Key(
        path="variant.mover",
        rule=lambda d: {"place": d.pick("top", "bottom", "both")},
        share=0.3,
        where=lambda d: "mover" in d.tables,
    ),
)
