"""The five numbers of a winding: any four give the fifth, and all five must agree.

Over the copper: outer_size = inner_size + 2 (turns trace_width + (turns - 1) trace_spacing), in each
direction where a shape has two sizes. A size that ends in a corner takes more of every turn: see `Form`.
"""

import math
from collections.abc import Mapping

from coilgen.frozen import dataclass
from coilgen.units import in_mm

NUMBERS = ("turns", "trace_width", "trace_spacing", "outer_size", "inner_size")
AGREEMENT = 1e-6  # m, by which five given numbers may miss the relation
_MOST_TURNS = 1000.0
_WHOLE = 1e-6  # turns, by which a derived number may fall short of a whole one through rounding


class UnfitError(ValueError):
    """The given numbers leave no room for the derived one; says what to change."""


@dataclass(frozen=True)
class Form:
    """How a size grows with the band of copper: from a flat to a flat, or to a corner.

    slant: distance from the centre of where the size ends over that of the flat, 1 for a flat. tip: by how
    much a cut corner ends it nearer to the centre, m; infinite where it is cut by the trace's width.
    """

    slant: float = 1.0
    tip: float = 0.0

    @property
    def sides(self) -> float:
        """Bands that a size crosses, counted by what they take of it."""
        return 1 + self.slant

    def saved(self, width: float) -> float:
        """What a size takes less than its bands, m: round copper outside of a corner, mitred inside."""
        sharp = self.slant - 1
        return min(sharp * width, sharp * width / 2 + self.tip) if sharp else 0.0


FLAT = Form()


def band(turns: float, width: float, spacing: float) -> float:
    """Radial width of the winding's copper on one side, m."""
    return turns * width + (turns - 1) * spacing


def taken(turns: float, width: float, spacing: float, form: Form = FLAT) -> float:
    """By how much outer_size is over inner_size, m."""
    return form.sides * band(turns, width, spacing) - form.saved(width)


def disagreement(numbers: Mapping[str, float], form: Form = FLAT) -> float:
    """How much outer_size is over what the other four make it, m."""
    across = taken(numbers["turns"], numbers["trace_width"], numbers["trace_spacing"], form)
    return numbers["outer_size"] - numbers["inner_size"] - across


def derived(given: Mapping[str, float], form: Form = FLAT) -> tuple[dict[str, float], tuple[str, ...]]:
    """The number missing from the given four, with what changed besides, and sentences on what was rounded.

    Raises UnfitError when nothing positive fits.

    >>> four = {"turns": 14, "trace_width": 15e-5, "trace_spacing": 15e-5, "outer_size": 0.024}
    >>> derived(four)
    ({'inner_size': 0.0159}, ())
    """
    (missing,) = set(NUMBERS) - set(given)
    if missing == "turns":
        return _turns(given, form)
    return {missing: round(_LENGTHS[missing](given, form), 12)}, ()


def _outer(given: Mapping[str, float], form: Form) -> float:
    return given["inner_size"] + taken(given["turns"], given["trace_width"], given["trace_spacing"], form)


def _inner(given: Mapping[str, float], form: Form) -> float:
    turns, width, spacing, outer = (given[name] for name in NUMBERS[:4])
    inner = outer - taken(turns, width, spacing, form)
    if inner <= 0:
        room = (outer + form.saved(width)) / form.sides
        raise UnfitError(
            f"{turns:g} turns take {in_mm(band(turns, width, spacing))} on each side, and leave no opening "
            f"in an outer_size of {in_mm(outer)}; {_fitting(room, width, spacing)}"
        )
    return inner


def _fitting(room: float, width: float, spacing: float) -> str:
    most = math.ceil((room + spacing) / (width + spacing) - _WHOLE) - 1
    if most < 1:
        return "not even one turn fits: make trace_width smaller or outer_size larger"
    return f"at most {most} fit: lower turns, trace_width or trace_spacing, or raise outer_size"


def _room(given: Mapping[str, float], form: Form, saved: float = 0.0) -> float:
    """Radial room for the winding's copper, m."""
    room = (given["outer_size"] - given["inner_size"] + saved) / form.sides
    if given["outer_size"] <= given["inner_size"]:
        raise UnfitError(
            f"outer_size {in_mm(given['outer_size'])} is not over inner_size {in_mm(given['inner_size'])}; "
            "raise the one or lower the other"
        )
    return room


def _width(given: Mapping[str, float], form: Form) -> float:
    turns, spacing = given["turns"], given["trace_spacing"]
    gaps, sharp = (turns - 1) * spacing, form.slant - 1
    # What the corner saves is the lesser of two parts of the width: each gives a width, and the lesser holds.
    width = min(
        (_room(given, form) - gaps) / (turns - sharp / form.sides),
        (_room(given, form, form.tip) - gaps) / (turns - sharp / 2 / form.sides),
    )
    if width <= 0:
        raise UnfitError(
            f"the {in_mm(_room(given, form))} between inner_size and outer_size do not hold the gaps between "
            f"{turns:g} turns, {in_mm(gaps)}; lower turns or trace_spacing, or widen the room"
        )
    return width


def _spacing(given: Mapping[str, float], form: Form) -> float:
    turns, width = given["turns"], given["trace_width"]
    room = _room(given, form, form.saved(width))
    if turns == 1:
        raise UnfitError(
            "one turn has no neighbour that would tell the spacing; give trace_spacing instead of another"
        )
    spacing = (room - turns * width) / (turns - 1)
    if spacing <= 0:
        raise UnfitError(
            f"the {in_mm(room)} between inner_size and outer_size leave no gap between {turns:g} turns of "
            f"{in_mm(width)}; lower turns or trace_width, or widen the room"
        )
    return spacing


_LENGTHS = {"outer_size": _outer, "inner_size": _inner, "trace_width": _width, "trace_spacing": _spacing}


def _turns(given: Mapping[str, float], form: Form) -> tuple[dict[str, float], tuple[str, ...]]:
    """Whole turns that fit, and the inner size they leave with the outer size kept."""
    width, spacing = given["trace_width"], given["trace_spacing"]
    room = _room(given, form, form.saved(width))
    fitting = (room + spacing) / (width + spacing)
    turns = float(math.floor(fitting + _WHOLE))
    if turns < 1:
        raise UnfitError(
            f"the {in_mm(room)} between inner_size and outer_size do not hold one turn of {in_mm(width)}; "
            "lower trace_width or widen the room"
        )
    if turns > _MOST_TURNS:
        raise UnfitError(
            f"{turns:g} turns would fit, {_MOST_TURNS:g} are allowed; widen the trace or give turns"
        )
    inner = round(given["outer_size"] - taken(turns, width, spacing, form), 12)
    return {"turns": turns, "inner_size": inner}, _rounding(fitting, turns, given["inner_size"], inner)


def _rounding(fitting: float, turns: float, asked: float, inner: float) -> tuple[str, ...]:
    if abs(inner - asked) <= AGREEMENT:
        return ()
    return (
        f"{fitting:.2f} turns would fit; rounded down to {turns:g}, "
        f"which makes inner_size {in_mm(inner)} instead of {in_mm(asked)}.",
    )
