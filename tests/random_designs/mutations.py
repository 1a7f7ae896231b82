"""Design files gone wrong: a template or a random design, then slips in bytes, tokens, values, keys, nesting.

Everything is drawn from one `random.Random`, so that a seed is a file.
"""

import re
from functools import cache

from coilgen.catalogue import templates
from coilgen.design.reading import json_schema

TOKEN = re.compile(r'"[^"\n]*"|#[^\n]*|[A-Za-z0-9_.+-]+|[^\S\n]+|.|\n')
VALUE = re.compile(r"(?m)^(\s*[A-Za-z_]+\s*=\s*)(.+?)(\s*(?:#.*)?)$")
KEY = re.compile(r"(?m)^(\s*)([A-Za-z_]+)(\s*=)")
HEADING = re.compile(r"(?m)^\[+[^\]\n]+\]+")

ODD = [
    *(
        "nan",
        "-nan",
        "inf",
        "-inf",
        "0",
        "-0.0",
        "-1",
        "1",
        "2",
        "1000",
        "1001",
        "1e-9",
        "1e-300",
        "1e308",
        "1e999",
    ),
    *("9" * 25, "-" + "9" * 400, "0x" + "f" * 300, "1" * 5000, "1_000", "0o17", "0b1", "1.5.5", "0.1", "3.7"),
    *(
        "true",
        "false",
        "[]",
        "{}",
        "[[]]",
        "[{}]",
        "{a = 1}",
        "[1, 2, 3]",
        '["a"]',
        "[nan]",
        "[" * 40 + "]" * 40,
    ),
    *(
        "1979-05-27",
        "07:32:00",
        "1979-05-27T07:32:00Z",
        "''",
        '""',
        '" "',
        '"\\u0000"',
        '"\\U0010ffff"',
        '"\\ud800"',
    ),
    *(
        '"0 mm"',
        '"-1 mm"',
        '"1e400 mm"',
        '"nan mm"',
        '"2 m"',
        '"1 um"',
        '"1 mil"',
        '"1 oz"',
        '"5 V"',
        '"1 furlong"',
    ),
    *(
        '"mm"',
        '"1mm"',
        '"1 mm mm"',
        '"１ mm"',
        '"1,5 mm"',
        '"1e5 mm"',
        '"1000 K"',
        '"0.5 T"',
        '"50 %"',
        '"1 GHz"',
    ),
    *(
        '"' + "x" * 5000 + '"',
        '"../../etc/passwd"',
        '"=1+1"',
        '"a\\nb"',
        '"\\u001b[31m"',
        '"round"',
        '"none"',
    ),
    *(
        '"FR-4"',
        '"soft iron"',
        '"N42"',
        '"flex-1-layer"',
        '"heavy-copper"',
        '"pocket"',
        '"plated-hole"',
        "'''",
        '"',
    ),
]
BYTES = [
    b"\x00",
    b"\xff",
    b"\r",
    b"\r\n",
    b"\xef\xbb\xbf",
    b"\t",
    b'"',
    b"'",
    b"#",
    b"=",
    b"[",
    b"]",
    b".",
    b"\\",
    b"\xe2\x80\xa8",
]


def mutated(rng):
    """The bytes of a design file with one to four slips in it."""
    text = rng.choice(list(templates().values())) if rng.random() < 0.75 else random_design(rng)
    for _ in range(rng.choice((1, 1, 1, 1, 1, 2, 2, 3, 4))):
        text = rng.choice(
            (value, value, value, value, value, key, key, token, token, line, nesting, heading)
        )(rng, text)
    content = text.encode("utf-8", "surrogatepass")
    return slipped(rng, content) if rng.random() < 0.12 else content


def random_design(rng):
    """A design file of keys and values that the JSON Schema allows one by one; together they may not."""
    schema = _schema()
    parts = [
        f'name = "random-{rng.randrange(10**6)}"',
        _table(rng, "winding", schema["properties"]["winding"]),
    ]
    for name, inside in schema["properties"].items():
        if name not in ("name", "note", "winding") and rng.random() < 0.35:
            parts.append(_table(rng, name, inside))
    return "\n".join(parts) + "\n"


@cache
def _schema():
    return json_schema()


def _resolved(node):
    while "$ref" in node:
        node = _schema()["$defs"][node["$ref"].rpartition("/")[2]]
    return node


def _table(rng, name, node):
    node = _resolved(node)
    heading = f"[{name}]"
    if node.get("type") == "array":
        node, heading = _resolved(node["items"]), f"[[{name}]]"
    needed = node.get("required", ())
    lines = [heading]
    for key_, inside in node.get("properties", {}).items():
        if key_ in needed or rng.random() < 0.4:
            lines.append(f"{key_} = {_drawn(rng, inside)}")
    return "\n".join(lines)


def _drawn(rng, node):
    """Text of a value of the schema."""
    node = _resolved(node)
    if "anyOf" in node:
        return _drawn(rng, rng.choice(node["anyOf"]))
    if "enum" in node:
        return f'"{rng.choice(node["enum"])}"'
    kind = node.get("type")
    if kind in ("number", "integer"):
        least, most = node.get("minimum", 0), node.get("maximum", 100)
        value_ = rng.choice(
            (least, most, rng.uniform(least, most), least + (most - least) * 10 ** rng.uniform(-6, 0))
        )
        return str(int(value_)) if kind == "integer" else repr(float(value_))
    if kind == "array":
        count = min(node.get("minItems", 1) + rng.randrange(2), node.get("maxItems", 9))
        return "[" + ", ".join(_drawn(rng, node.get("items", {})) for _ in range(count)) + "]"
    if kind == "object":
        inside = node.get("properties", {}).items()
        return (
            "{"
            + ", ".join(f"{key_} = {_drawn(rng, each)}" for key_, each in inside if rng.random() < 0.6)
            + "}"
        )
    return {"boolean": "true"}.get(kind, rng.choice(('"1 mm"', '"0.2 mm"', '"20 mm"', '"5 V"', '"any"')))


def _replaced(found, text, new):
    return text[: found.start()] + new + text[found.end() :]


def _any(rng, pattern, text):
    found = list(pattern.finditer(text))
    return rng.choice(found) if found else None


def value(rng, text):
    """Another value: an odd one, a scaled number, or that of another key."""
    found, other = _any(rng, VALUE, text), _any(rng, VALUE, text)
    if found is None:
        return text
    number = re.search(r"[0-9]+\.?[0-9]*", found[2])
    kind = rng.randrange(3)
    if kind == 0 and number:
        scaled = f"{float(number[0]) * rng.choice((0, 0.01, 0.5, 0.999, 1.001, 2, 10, 100, 1e4, -1)):.9g}"
        return _replaced(found, text, found[1] + _replaced(number, found[2], scaled) + found[3])
    new = other[2] if kind == 1 else rng.choice(ODD)
    return _replaced(found, text, found[1] + new + found[3])


def key(rng, text):
    """A misspelt, doubled, dotted, quoted, endless or foreign key."""
    found, other = _any(rng, KEY, text), _any(rng, KEY, text)
    if found is None:
        return text
    word = found[2]
    at = rng.randrange(len(word))
    new = rng.choice(
        (
            word[:at] + word[at + 1 :],
            word[:at] + rng.choice("abcxyz_-. é") + word[at:],
            word.upper(),
            f'"{word}"',
            f"{word}.{word}",
            other[2],
            word * 600,
            ".".join([word] * rng.choice((3, 25, 3000))),
            "",
            '""',
        )
    )
    return _replaced(found, text, found[1] + new + found[3])


def token(rng, text):
    """A token gone, doubled, exchanged with another or with junk."""
    tokens = TOKEN.findall(text) or [""]
    at, other = rng.randrange(len(tokens)), rng.randrange(len(tokens))
    kind = rng.randrange(4)
    if kind == 0:
        del tokens[at]
    elif kind == 1:
        tokens.insert(at, tokens[at])
    elif kind == 2:
        tokens[at], tokens[other] = tokens[other], tokens[at]
    else:
        tokens[at] = rng.choice(ODD)
    return "".join(tokens)


def line(rng, text):
    """A line gone, doubled, moved, or all of them very often."""
    lines = text.split("\n")
    at, to = rng.randrange(len(lines)), rng.randrange(len(lines))
    kind = rng.randrange(5)
    if kind == 0:
        del lines[at]
    elif kind == 1:
        lines.insert(to, lines[at])
    elif kind == 2:
        lines.insert(to, lines.pop(at))
    elif kind == 3:
        lines = lines[:at]
    else:
        lines[at:at] = [lines[at]] * rng.choice((20, 300, 5000))
    return "\n".join(lines)


def heading(rng, text):
    """Another heading: single or double brackets, another table, one within another, a variant."""
    found, other = _any(rng, HEADING, text), _any(rng, HEADING, text)
    if found is None:
        return text
    name, foreign = found[0].strip("[]"), other[0].strip("[]")
    new = rng.choice(
        (
            f"[{name}]",
            f"[[{name}]]",
            f"[{name}.{foreign}]",
            f"[{foreign}]",
            f"[[variant]]\nname = 'other'\n[variant.{name}]",
            f"[[variant]]\nname = '=1'\nwithout = ['{foreign}']\n[variant.{name}]",
            "",
            f"[{name}",
            f"[{'.'.join([name] * rng.choice((2, 15, 3000)))}]",
        )
    )
    return _replaced(found, text, new)


def nesting(rng, text):
    """A value wrapped in lists or tables, a few or thousands of times."""
    found = _any(rng, VALUE, text)
    if found is None:
        return text
    depth = rng.choice((1, 2, 15, 25, 200, 3000))
    left, right = rng.choice((("[", "]"), ("{a = ", "}"), ("[{b = ", "}]"), ("[[],", "]")))
    return _replaced(found, text, found[1] + left * depth + found[2] + right * depth)


def slipped(rng, content):
    """A few bytes changed, put in or gone."""
    at = rng.randrange(len(content) + 1)
    end = min(len(content), at + rng.choice((0, 1, 1, 2, 40)))
    junk = rng.choice((b"", rng.choice(BYTES), rng.choice(BYTES) * rng.choice((2, 5000)), rng.randbytes(3)))
    return content[:at] + junk + content[end:]
