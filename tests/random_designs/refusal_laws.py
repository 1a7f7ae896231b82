"""Laws that every refusal keeps: one clear line for each fault, at a key that the file has or could have."""

import re
from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any

from coilgen.design.reading import json_schema
from coilgen.errors import DesignError

NUMBER = re.compile(r" \d+(?=\.|$)")
ABSENT = ("the default", "the trace's width")
"""Words that tell of a number which the file does not have."""


@cache
def known_keys() -> frozenset[str]:
    """Every key that a design file may have, dotted."""
    schema = json_schema()
    return frozenset(_keys(schema, schema.get("$defs", {}), ""))


def _keys(schema: Mapping[str, Any], defs: Mapping[str, Any], path: str) -> Iterator[str]:
    if "$ref" in schema:
        yield from _keys(defs[schema["$ref"].rsplit("/", 1)[-1]], defs, path)
    for other in (*schema.get("anyOf", ()), *schema.get("allOf", ())):
        yield from _keys(other, defs, path)
    if isinstance(schema.get("items"), Mapping):
        yield from _keys(schema["items"], defs, path)
    for key, own in schema.get("properties", {}).items():
        inner = f"{path}.{key}" if path else key
        yield inner
        yield from _keys(own, defs, inner)


def broken(error: DesignError, tables: Mapping[str, Any]) -> Iterator[str]:
    """What is wrong with a refusal of a file's tables."""
    if not error.faults:
        yield "no fault is told"
    for fault in error.faults:
        key = NUMBER.sub("", fault.key).removeprefix("variant.")
        if "\n" in str(fault) or not 10 < len(fault.says) < 400:
            yield f"not one clear line: {fault}"
        if key not in known_keys() and f"variant.{key}" not in known_keys():
            yield f"no key of a design file: {fault}"
        elif fault.says[:1].isdigit() and not _written(tables, key.split(".")) and not _absent(fault.says):
            yield f"a number that the file does not have: {fault}"


def _absent(says: str) -> bool:
    return any(word in says for word in ABSENT)


def _written(tables: Any, steps: list[str]) -> bool:
    if isinstance(tables, list):
        return any(_written(entry, steps) for entry in tables)
    if not steps or not isinstance(tables, Mapping):
        return not steps
    return steps[0] in tables and _written(tables[steps[0]], steps[1:])
