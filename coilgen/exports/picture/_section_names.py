"""Names beside the cut: what each sheet and body is, with a line that leads to it."""

import textwrap
from collections.abc import Sequence
from itertools import pairwise

from coilgen.exports.picture._section_bodies import Part, named_inside
from coilgen.exports.picture._section_sheets import Sheet, View, up
from coilgen.exports.picture._svg import INK, Element, add, add_text, number
from coilgen.frozen import dataclass

LINE = 1.35
"""Of the size of letters: from line to line."""

NAME_LENGTH = 38
"""Letters of a name before it goes on in a further line."""


@dataclass(frozen=True, kw_only=True)
class Name:
    """What stands beside the picture: lines of text, the drawn height that they tell of, where it ends.

    edge: from which x a line leads to the name, None for no line.
    """

    lines: tuple[str, ...]
    height: float
    edge: float | None
    bold: bool


def names_of(sheets: list[Sheet], parts: Sequence[Part], view: View) -> list[Name]:
    """Of sheets and bodies, from the highest to the lowest."""
    names = [
        Name(
            lines=(sheet.says,),
            height=up(view, (sheet.top + sheet.bottom) / 2),
            edge=view.board[1],
            bold=bool(sheet.layer),
        )
        for sheet in sheets
    ]
    return sorted(
        [*names, *(_body_name(part, view) for part in parts if part.body.named)],
        key=lambda name: -name.height,
    )


def _body_name(part: Part, view: View) -> Name:
    """A body in the pocket that bears its name needs no line across the board."""
    body, size = part.body, view.size
    low, high = up(view, body.standing.bottom), up(view, body.standing.top)
    says = _unbroken(f"{body.name}: {body.material}, {body.measures}{_where(part)}")
    bare = body.inside and named_inside(part, (low, high), size)
    edge = max((east for _, east in part.pieces), default=view.room[1])
    return Name(
        lines=tuple(textwrap.wrap(says, NAME_LENGTH)),
        height=high + 1e-9 if bare else low + 0.7 * (high - low),
        edge=None if bare else edge,
        bold=False,
    )


def _unbroken(text: str) -> str:
    """Numbers stay with their units when lines are wrapped."""
    return text.replace(" mm", "\u00a0mm").replace(" × ", "\u00a0×\u00a0")


def _where(part: Part) -> str:
    if not part.pieces:
        return ", past the end of the picture"
    return ", beside the cut" if part.beside else ""


def name_places(names: Sequence[Name], size: float) -> list[float]:
    """Heights of the first lines, each at its own height or under the name before; pushed up as a whole."""
    places = [names[0].height]
    for before, name in pairwise(names):
        places.append(min(name.height, places[-1] - LINE * size * len(before.lines)))
    over = max((names[-1].height - places[-1]) / 2, 0.0)
    return [place + over for place in places]


def add_names(root: Element, names: Sequence[Name], places: Sequence[float], view: View) -> None:
    """Each name at its place, with its line."""
    group = add(root, "g", class_="names", fill=INK)
    edge, size = view.room[1], view.size
    for name, place in zip(names, places, strict=True):
        if name.edge is not None:
            way = f"M{number(name.edge)} {number(-name.height)} H{number(edge)}"
            bend = f"L{number(edge + 1.5 * size)} {number(-place)} h{number(size)}"
            add(group, "path", d=f"{way} {bend}", fill="none", stroke=INK, stroke_width=number(0.07 * size))
        for count, line in enumerate(name.lines):
            at = complex(edge + 2.9 * size, place - 0.36 * size - count * LINE * size)
            add_text(group, line, at, size, font_weight="bold" if name.bold else "normal")
