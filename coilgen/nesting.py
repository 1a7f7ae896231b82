"""How deep the keys of a TOML text are nested: no design needs more than a few steps.

Parsers take time and memory with the square of a dotted key's length, so it is counted before.
"""

import re
from collections.abc import Iterator, Mapping

MOST_STEPS = 20

# Strings and comments that are not closed reach to the end of their line or of the text, so that every letter
# is looked at once; what is broken in them is for the parser to tell.
_LITERAL = r"'[^'\n]*+'?"
_BASIC = r'"(?:\\.|[^"\\\n])*+"?'
_STEP = rf"(?:[A-Za-z0-9_-]++|{_BASIC}|{_LITERAL})"
_PIECE = re.compile(
    r'"""(?:\\.|(?!""")[^\\])*+(?:"""|\\?\Z)'
    r"|'''(?:(?!''')[\s\S])*+(?:'''|\Z)"
    r"|#[^\n]*+"
    rf"|(?P<key>{_STEP}(?:[ \t]*+\.[ \t]*+{_STEP})++)"
    rf"|{_STEP}",
    re.DOTALL,
)


def deepest_key(text: str) -> tuple[int, str]:
    """Steps of the longest dotted key in a text, and how it begins; (0, "") without one.

    >>> deepest_key('a.b."c.d" = "x.y.z.w"  # e.f.g.h')
    (3, 'a.b."c.d"')
    """
    return max(((len(re.findall(_STEP, key)), key[:40]) for key in _dotted(text)), default=(0, ""))


def _dotted(text: str) -> Iterator[str]:
    for piece in _PIECE.finditer(text):
        if piece["key"] is not None:
            yield piece["key"]


def nested(value: object) -> int:
    """Levels of tables and lists within each other; 0 for a plain value.

    >>> nested({"winding": {"turns": 3}, "core": [{}]})
    2
    """
    depth, level = 0, [value]
    while level := [inner for outer in level for inner in _inside(outer)]:
        depth += 1
    return depth


def _inside(value: object) -> Iterator[object]:
    if isinstance(value, Mapping):
        yield from value.values()
    elif isinstance(value, list | tuple):
        yield from value
