"""Lines over a map of colours, such as contours and outlines, and their key under it."""

from collections.abc import Callable, Sequence

from coilgen.exports.page._contours import Line, Place
from coilgen.exports.picture._svg import Element, add
from coilgen.frozen import dataclass

ROW = 19.0
"""Height of a row of the key, in the picture's units."""
_SAMPLE, _LETTER, _APART = 30.0, 8.2, 16.0


@dataclass(frozen=True, kw_only=True)
class MapLines:
    """Lines of one kind in the units of the axes: `kind` names their style, `says` them in the key.

    Without words they stay out of the key.
    """

    kind: str
    says: str
    lines: tuple[Line, ...]


def add_map_lines(
    root: Element, drawn: Sequence[MapLines], at: Callable[[Place], Place], frame: tuple[float, ...]
) -> None:
    """Draws them, cut off at the frame: left, top, width, height. at: where a place is in the picture."""
    left, top, width, height = frame
    window = add(root, "svg", x=f"{left:g}", y=f"{top:g}", width=f"{width:.1f}", height=f"{height:.1f}")
    window.set("viewBox", f"{left:g} {top:g} {width:.1f} {height:.1f}")
    for each in drawn:
        group = add(window, "g", class_=f"map-lines {each.kind}")
        if each.says:
            add(group, "title", each.says)
        shape = "".join("M" + " ".join("{:.2f} {:.2f}".format(*at(p)) for p in line) for line in each.lines)
        _add_stroke(group, shape)


def _add_stroke(group: Element, shape: str) -> None:
    """Ink over a pale rim, seen on dark ground and on pale."""
    for layer in ("rim", "ink"):
        add(group, "path", d=shape, class_=layer)


def key_height(drawn: Sequence[MapLines], width: float) -> float:
    """Of the key under a map as wide as that."""
    return ROW * (1 + max((row for _, row, _ in _places(drawn, width)), default=-1))


def add_key(root: Element, drawn: Sequence[MapLines], y: float, width: float) -> None:
    """A short line of each kind with its words, from y down, in rows as wide as that."""
    for x, row, each in _places(drawn, width):
        line = y + ROW * (row + 0.6)
        group = add(root, "g", class_=f"map-lines {each.kind} key")
        _add_stroke(group, f"M{x:.1f} {line:.1f} H{x + _SAMPLE - 6:.1f}")
        add(root, "text", each.says, x=f"{x + _SAMPLE:.1f}", y=f"{line + 4:.1f}")


def _places(drawn: Sequence[MapLines], width: float) -> list[tuple[float, int, MapLines]]:
    """Where each kind's sample begins, and in which row of the key."""
    found, x, row = [], 4.0, 0
    for each in drawn:
        if not each.says:
            continue
        room = _SAMPLE + _LETTER * len(each.says) + _APART
        if x > 4.0 and x + room > width:
            x, row = 4.0, row + 1
        found.append((x, row, each))
        x += room
    return found
