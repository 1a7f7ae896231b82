"""The faults a model found, in the words of a design file's writer."""

from collections.abc import Iterator, Sequence
from functools import cache
from typing import Any, get_args, get_origin

from pydantic import ValidationError

from coilgen.catalogue import nearest
from coilgen.design.keys import Table
from coilgen.errors import DesignError, Fault, named, shown

KeyPath = tuple[str | int, ...]


MOST_FAULTS = 50
"""Faults that are told at once."""


def faults(error: ValidationError, root: type[Table]) -> tuple[Fault, ...]:
    """The faults of a design (root: its model) in the order of keys, each once; of very many the first."""
    items = error.errors(include_url=False)[: MOST_FAULTS + 1]
    return tuple(dict.fromkeys(fault for item in items for fault in _told(dict(item), root)))


def first_of(found: Sequence[Fault]) -> tuple[Fault, ...]:
    """As many as are told at once, and that there are more."""
    if len(found) <= MOST_FAULTS:
        return tuple(found)
    return (*found[:MOST_FAULTS], Fault(key="", says="and there are more faults; mend these first"))


def _told(item: dict[str, Any], root: type[Table]) -> Iterator[Fault]:
    cause = item.get("ctx", {}).get("error")
    if isinstance(cause, DesignError):
        yield from (_placed(fault, item["loc"]) for fault in cause.faults)
    else:
        place: KeyPath = item["loc"]
        yield Fault(key=_key(place), says=_sentence(item["type"], place, item["input"], cause, root))


def _placed(fault: Fault, place: KeyPath) -> Fault:
    """A fault that a model told by its own keys, at the place where that model stands in the file.

    Models know neither which entry of a list they are nor what table they are in.
    """
    table, _, key = fault.key.partition(".")
    if not key or table not in place:
        return fault
    end = max(at for at, step in enumerate(place) if step == table) + 1
    if end < len(place) and isinstance(place[end], int):
        end += 1
    return Fault(key=f"{_key(place[:end])}.{key}", says=fault.says)


def _sentence(kind: str, place: KeyPath, given: object, cause: Exception | None, root: type[Table]) -> str:
    if cause is not None:
        return str(cause)
    if kind == "extra_forbidden":
        return _unknown(place, root)
    if kind == "missing":
        return f"not given; {_wanted(place, root)}"
    if kind == "model_type" and isinstance(given, list):
        return f"a list is not a table; write it once, with its heading in single brackets, [{_key(place)}]"
    return f"{shown(given)} is not {_KINDS.get(kind, 'of a kind allowed here, see `coilgen schema`')}"


_KINDS = {
    "model_type": "a table; give its keys under one heading in square brackets",
    "string_type": "text; put it in quotes",
    "tuple_type": "a list; write it in square brackets",
    "bool_type": "a yes or no; use true or false",
}


def _wanted(place: KeyPath, root: type[Table]) -> str:
    if place == ("winding",):
        return "add a [winding] table with shape and four of its five numbers"
    description = _table(place[:-1], root).model_fields[str(place[-1])].description
    return f"add it: {description}"


_SIZES = ("size", "diameter", "radius", "width", "height", "depth", "length", "thickness")
"""How tables call what may go by another word in another table."""


def _unknown(place: KeyPath, root: type[Table]) -> str:
    word, table = str(place[-1]), _table(place[:-1], root)
    if table is not root and word in _tables(root):
        several = get_origin(root.model_fields[word].annotation) is tuple
        return f"no such key here; {f'[[{word}]]' if several else f'[{word}]'} is a table by itself"
    near = nearest(word, table.model_fields)
    homes = [
        name for name, other in _tables(root).items() if word in other.model_fields and name != "variant"
    ]
    if near is not None and not (homes and table is root):
        return f'no such key; did you mean "{near}"?'
    if homes:
        elsewhere = " or ".join(f"[{name}]" for name in homes)
        sizes = [key for key in table.model_fields if key.rpartition("_")[-1] in _SIZES]
        if word in _SIZES and sizes:
            return f"no such key here; its sizes are {', '.join(sizes)}; {word} belongs in {elsewhere}"
        return f"no such key here; it belongs in {elsewhere}"
    return f"no such key; use {', '.join(table.model_fields)}"


@cache
def _tables(root: type[Table]) -> dict[str, type[Table]]:
    return {name: model for name in root.model_fields if (model := model_of(root, name)) is not None}


def _table(place: KeyPath, root: type[Table]) -> type[Table]:
    """The model of the table at a place."""
    table = root
    for step in place:
        if isinstance(step, str) and step in table.model_fields:
            table = model_of(table, step) or table
    return table


def model_of(table: type[Table], key: str) -> type[Table] | None:
    """The model of a key that holds a table; an optional one is a union with None."""
    annotation = table.model_fields[key].annotation
    parts = get_args(annotation)
    kinds = (
        annotation,
        *parts,
        *(inner for part in parts for inner in get_args(part)),
    )
    return next((kind for kind in kinds if isinstance(kind, type) and issubclass(kind, Table)), None)


def _key(place: KeyPath) -> str:
    """The dotted key as it would be written in the file; entries of a list by their number from 1."""
    text = ""
    for step in place:
        text += f" {step + 1}" if isinstance(step, int) else f".{named(step)}"
    return text.removeprefix(".")
