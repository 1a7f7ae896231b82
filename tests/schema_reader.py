"""Whether a document keeps to a JSON Schema, after JSON Schema draft 2020-12, in the keywords ours uses."""

import re
from collections.abc import Callable, Mapping
from typing import Any

Schema = Mapping[str, Any]


def keeps_to(document: object, schema: Schema, whole: Schema) -> bool:
    """Whether the document is valid under the schema; whole: the schema that holds its $defs."""
    for keyword, told in schema.items():
        if keyword in _SAYS_NOTHING:
            continue
        if not _CHECKS[keyword](document, told, schema, whole):
            return False
    return True


_SAYS_NOTHING = {"$schema", "$defs", "title", "description", "default", "examples", "x-unit"}
_KINDS: Mapping[str, Callable[[object], bool]] = {
    "object": lambda value: isinstance(value, dict),
    "array": lambda value: isinstance(value, list),
    "string": lambda value: isinstance(value, str),
    "boolean": lambda value: isinstance(value, bool),
    "integer": lambda value: isinstance(value, int) and not isinstance(value, bool),
    "number": lambda value: isinstance(value, int | float) and not isinstance(value, bool),
}


def _properties(document: object, known: Schema, schema: Schema, whole: Schema) -> bool:
    return not isinstance(document, dict) or all(
        keeps_to(value, known[key], whole) for key, value in document.items() if key in known
    )


def _refers(document: object, place: str, schema: Schema, whole: Schema) -> bool:
    return keeps_to(document, whole["$defs"][place.removeprefix("#/$defs/")], whole)


_CHECKS: Mapping[str, Callable[[Any, Any, Schema, Schema], bool]] = {
    "type": lambda value, told, *_: _KINDS[told](value),
    "properties": _properties,
    "items": lambda value, told, _, whole: (
        not isinstance(value, list) or all(keeps_to(each, told, whole) for each in value)
    ),
    "$ref": _refers,
    "enum": lambda value, told, *_: value in told,
    "anyOf": lambda value, told, _, whole: any(keeps_to(value, each, whole) for each in told),
    "not": lambda value, told, _, whole: not keeps_to(value, told, whole),
    "required": lambda value, told, *_: not isinstance(value, dict) or set(told) <= set(value),
    "additionalProperties": lambda value, told, schema, whole: (
        not isinstance(value, dict)
        or all(
            keeps_to(value[key], told, whole) if isinstance(told, dict) else told
            for key in value.keys() - schema.get("properties", {}).keys()
        )
    ),
    "minimum": lambda value, told, *_: not isinstance(value, int | float) or value >= told,
    "maximum": lambda value, told, *_: not isinstance(value, int | float) or value <= told,
    "minItems": lambda value, told, *_: not isinstance(value, list) or len(value) >= told,
    "maxItems": lambda value, told, *_: not isinstance(value, list) or len(value) <= told,
    "minLength": lambda value, told, *_: not isinstance(value, str) or len(value) >= told,
    "maxLength": lambda value, told, *_: not isinstance(value, str) or len(value) <= told,
    "pattern": lambda value, told, *_: not isinstance(value, str) or re.search(told, value) is not None,
}
