"""Variants: tables of a design file with some of their keys changed."""

from collections.abc import Iterable, Mapping, Sequence

from coilgen.catalogue import nearest
from coilgen.errors import Fault, named, shown
from coilgen.frozen import dataclass

Tables = dict[str, object]

MOST = 100


@dataclass(frozen=True, kw_only=True)
class Varied:
    """One variant: which in the file, its name, and the whole design's tables with its changes made."""

    number: int
    name: str
    tables: Tables


def varied(
    base: Mapping[str, object], given: object, known: Iterable[str]
) -> tuple[list[Varied], list[Fault]]:
    """Every variant of a design's tables, and the faults of the variants' own keys.

    A table within a variant changes the keys it names, a list is replaced whole, and `without` lists keys
    to leave out. Of several windings those change that are named; a new name is one winding more.
    known: the keys of a design that a variant may hold.
    """
    if not isinstance(given, list | tuple):
        says = f"{shown(given)} is no list of tables; write each variant as [[variant]], in double brackets"
        return [], [Fault(key="variant", says=says)]
    if len(given) > MOST:
        return [], [Fault(key="variant", says=f"{len(given)} given; up to {MOST} are allowed")]
    known = tuple(known)
    found: list[Varied] = []
    faults: list[Fault] = []
    for number, each in enumerate(given, start=1):
        own = _faults(base, each, [one.name for one in found], known)
        faults += [Fault(key=f"variant {number}{fault.key}", says=fault.says) for fault in own]
        if isinstance(each, Mapping):
            tables = _changed(base, each, known)
            found.append(Varied(number=number, name=str(each.get("name")), tables=tables))
    return found, faults


def _faults(
    base: Mapping[str, object], given: object, taken: list[str], known: tuple[str, ...]
) -> list[Fault]:
    """Of a variant's own keys, told from the variant on."""
    if not isinstance(given, Mapping):
        return [Fault(key="", says=f"{shown(given)} is not a table; write each variant as [[variant]]")]
    return [
        *_faults_of_name(given.get("name"), taken),
        *_faults_of_without(base, given.get("without", [])),
        *(Fault(key=f".{named(key)}", says=says) for key, says in _misspelt(given, known).items()),
    ]


_OWN = ("name", "without")
_KEPT = ("name", "variant")
"""Keys of a design that no variant goes without."""


def _misspelt(given: Mapping[str, object], known: tuple[str, ...]) -> dict[str, str]:
    """What to say of keys nearest to a variant's own; the rest is left for the design to tell."""
    found = {}
    for key in given:
        near = None if key in (*known, *_OWN) else nearest(key, (*_OWN, *known))
        if key == "variant":
            found[key] = "a variant has no variants; put it beside this one"
        elif near in _OWN:
            found[key] = f'no such key; did you mean "{near}"?'
    return found


def _faults_of_name(name: object, taken: list[str]) -> list[Fault]:
    if not isinstance(name, str) or not name.strip() or not name.isprintable() or len(name) > 64:
        says = "not given" if name is None else f"{shown(name)} is no name"
        return [Fault(key=".name", says=f"{says}; give 1 to 64 letters on one line")]
    if name != name.strip():
        return [Fault(key=".name", says=f"{shown(name)} begins or ends with a space; leave that out")]
    if name in taken:
        return [Fault(key=".name", says=f"{shown(name)} names an earlier variant too; choose another")]
    return []


def _faults_of_without(base: Mapping[str, object], without: object) -> list[Fault]:
    if not isinstance(without, list | tuple):
        says = f"{shown(without)} is not a list of keys; write them in square brackets, as [{_example(base)}]"
        return [Fault(key=".without", says=says)]
    if len(without) > MOST:
        return [Fault(key=".without", says=f"{len(without)} keys given; up to {MOST} are allowed")]
    unknown = (
        shown(key)
        for key in without
        if not isinstance(key, str) or key in _KEPT or not _holds(base, key.split("."))
    )
    return [
        Fault(key=".without", says=f"{key} is no key of this design; name one, such as {_example(base)}")
        for key in dict.fromkeys(unknown)
    ]


def _example(base: Mapping[str, object]) -> str:
    for name, table in base.items():
        if isinstance(table, Mapping) and table:
            return f'"{name}.{next(iter(table))}"'
    return '"magnet"'


def _holds(table: object, steps: list[str]) -> bool:
    if not isinstance(table, Mapping) or steps[0] not in table:
        return False
    return len(steps) == 1 or _holds(table[steps[0]], steps[1:])


def _changed(base: Mapping[str, object], variant: Mapping[str, object], known: tuple[str, ...]) -> Tables:
    kept: Tables = dict(base)
    without = variant.get("without", [])
    for key in without if isinstance(without, list | tuple) else []:
        kept = kept if key in _KEPT else _without(kept, str(key).split("."))
    dropped = {*_OWN, *_misspelt(variant, known)}
    return _merged(kept, {key: value for key, value in variant.items() if key not in dropped})


def _without(table: Mapping[str, object], steps: list[str]) -> Tables:
    if len(steps) == 1:
        return {key: value for key, value in table.items() if key != steps[0]}
    inner = table.get(steps[0])
    return {**table, steps[0]: _without(inner, steps[1:])} if isinstance(inner, Mapping) else dict(table)


def _merged(base: Mapping[str, object], changes: Mapping[str, object]) -> Tables:
    merged = dict(base)
    for key, value in changes.items():
        before = merged.get(key)
        if isinstance(before, Mapping) and isinstance(value, Mapping):
            merged[key] = _merged(before, value)
        elif key == "winding" and isinstance(before, list | tuple) and isinstance(value, list | tuple):
            merged[key] = _merged_by_name(before, value)
        else:
            merged[key] = value
    return merged


def _merged_by_name(base: Sequence[object], changes: Sequence[object]) -> list[object]:
    """Tables of a list with the changes of those of the same name; tables of other names follow."""
    tables = [table for table in changes if isinstance(table, Mapping)]
    named = {name: table for table in tables if (name := _name_of(table)) is not None}
    rest = [table for table in changes if _name_of(table) is None]
    merged: list[object] = []
    for table in base:
        change = named.pop(_name_of(table) or "", None)
        merged.append(table if change is None or not isinstance(table, Mapping) else _merged(table, change))
    return [*merged, *named.values(), *rest]


def _name_of(table: object) -> str | None:
    name = table.get("name") if isinstance(table, Mapping) else None
    return name if isinstance(name, str) else None
