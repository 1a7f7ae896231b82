"""How deep and how wide the tables of a TOML text are: no design needs more than a few steps and keys.

Parsers take time and memory with the square of a dotted key's length, so it is counted before.
"""

import re
from collections.abc import Iterator, Mapping

MOST_STEPS, MOST_KEYS = 20, 200

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


def longest_key(text: str) -> tuple[int, int]:
    """Steps of the longest dotted key in a text, and the line it stands in, from 1; (0, 0) without one.

    >>> longest_key('[a]\\nb.c."d.e" = "x.y.z.w"  # e.f.g.h')
    (3, 2)
    """
    steps, start = max(((len(re.findall(_STEP, key)), -at) for at, key in _dotted(text)), default=(0, 0))
    return steps, text.count("\n", 0, -start) + 1 if steps else 0


def _dotted(text: str) -> Iterator[tuple[int, str]]:
    for piece in _PIECE.finditer(text):
        if piece["key"] is not None:
            yield piece.start(), piece["key"]


def widest(value: object) -> tuple[int, int]:
    """Levels of tables and lists within each other, and the most keys that one table has.

    >>> widest({"winding": {"turns": 3, "layers": 2, "shape": "round"}, "core": [{}]})
    (2, 3)
    """
    depth, keys, level = 0, 0, [value]
    while level:
        keys = max([keys, *(len(each) for each in level if isinstance(each, Mapping))])
        level = [inner for outer in level for inner in _inside(outer)]
        depth += bool(level)
    return depth, keys


def _inside(value: object) -> Iterator[object]:
    if isinstance(value, Mapping):
        yield from value.values()
    elif isinstance(value, list | tuple):
        yield from value
