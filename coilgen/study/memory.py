"""What many designs share: results kept with what was read of the design for them.

Nobody has to tell what a figure depends on: while it is computed, every key of the design that is read is
noted with its value. The result then holds for each design that has the same values there.

Of what is made on the way, such as the coil, the value itself is noted in place of the keys it was made from:
a wider board with the same winding on it has the same inductance.
"""

from __future__ import annotations

import pickle
from collections.abc import Callable, Hashable, Mapping
from dataclasses import dataclass, field, fields, is_dataclass
from functools import cache
from itertools import count
from typing import Any, TypeVar, cast

from coilgen.design.design import Design
from coilgen.design.keys import Table
from coilgen.errors import DesignError

T = TypeVar("T")


class AbandonedError(Exception):
    """Nobody waits any more for what was being computed."""


Path = tuple[str, ...]
WHOLE = "*"
"""Last step of the path of a table that was read whole."""
MADE = "="
"""First step of the path of what is made of a design; its name is the second."""
MOST = 64
"""Results kept of a kind, those last used; coils and fields are large."""
_KINDS = 1000
"""Kinds kept, those last used: some are told with a number that every design has another of."""


@dataclass(frozen=True)
class Result:
    """What was computed, or the fault it ended with, the paths that were read for it, and its figures.

    Paths and figures are keys, in their order, as they are noted.
    """

    value: Any
    fault: DesignError | None
    read: Mapping[Path, None]
    figures: Mapping[str, None]

    def given(self) -> Any:
        """The value; raises the fault where there is one."""
        if self.fault is not None:
            raise self.fault
        return self.value


class Memory:
    """Results of earlier designs by kind, each under the paths read and the values found there.

    most: of a kind that are kept.
    """

    def __init__(self, most: int = MOST) -> None:
        self._most = most
        self._kept: dict[Hashable, dict[tuple[Path, ...], dict[tuple[Hashable, ...], Result]]] = {}
        self._made: dict[str, dict[Hashable, int]] = {}
        self._numbers = count()

    def number(self, name: str, made: object) -> int:
        """One number for equal values of those last made by a name."""
        known, form = self._made.setdefault(name, {}), _hashable(made)
        number = known.pop(form, None)
        known[form] = next(self._numbers) if number is None else number  # used last, forgotten last
        if len(known) > self._most:
            del known[next(iter(known))]
        return known[form]

    def found(self, kind: Hashable, asked: Asked) -> Result | None:
        """An earlier result that holds for a design."""
        for paths, by_values in self._of(kind).items():
            values = asked.values_at(paths)
            result = by_values.pop(values, None)
            if result is not None:
                by_values[values] = result  # used last, forgotten last
                return result
        return None

    def keep(self, kind: Hashable, asked: Asked, result: Result, most: int | None = None) -> None:
        """Keeps a design's result, and forgets the one that was not used for longest.

        most: of the kind that are kept, if fewer than of others.
        """
        paths = tuple(result.read)
        by_values = self._of(kind).setdefault(paths, {})
        by_values[asked.values_at(paths)] = result
        if len(by_values) > (most or self._most):
            del by_values[next(iter(by_values))]

    def make_room(self, kind: Hashable, most: int) -> None:
        """Forgets what would go for one more of a kind, before that one is computed beside it."""
        for by_values in self._of(kind).values():
            if len(by_values) >= most:
                del by_values[next(iter(by_values))]

    def _of(self, kind: Hashable) -> dict[tuple[Path, ...], dict[tuple[Hashable, ...], Result]]:
        """What is kept of a kind, which was now used last."""
        known = self._kept[kind] = self._kept.pop(kind, {})
        if len(self._kept) > _KINDS:
            del self._kept[next(iter(self._kept))]
        return known


@dataclass
class Asked:
    """One design while it is evaluated: what is read of it, and what is known of it so far.

    wanted: asked before anything is computed; AbandonedError once nobody waits. notes, figures: paths read
    and figures asked for, of the design and of each result under way. makers: of what is made on the way.
    """

    design: Design
    memory: Memory
    wanted: Callable[[], bool] = lambda: True
    makers: Mapping[str, Callable[[], Any]] = field(default_factory=dict)
    results: dict[Hashable, Result] = field(default_factory=dict)
    notes: list[dict[Path, None]] = field(default_factory=lambda: [{}])
    figures: list[dict[str, None]] = field(default_factory=lambda: [{}])

    def __post_init__(self) -> None:
        self._values = _Values(self.design, self._number)
        self._watched = cast(Design, Watched(self.design, (), self))

    def watched(self) -> Design:
        """The design, with every reading of it noted."""
        return self._watched

    def recalled(
        self, kind: Hashable, compute: Callable[[], T], *, shared: bool = True, most: int | None = None
    ) -> T:
        """What is known of this design or of one like it, else computed.

        shared: with other designs; most: of the kind that are kept for them.
        """
        result = self.results.get(kind) or (self.memory.found(kind, self) if shared else None)
        if result is None:
            if most is not None:
                self.memory.make_room(kind, most)
            result = self._computed(compute)
            if shared:
                self.memory.keep(kind, self, result, most)
        self.results[kind] = result
        self.notes[-1].update(result.read)
        self.figures[-1].update(result.figures)
        value: T = result.given()
        return value

    def made(self, name: str) -> Any:
        """What is made on the way: noted by what it is, not by what it was made from."""
        self.note((MADE, name))
        self.notes.append({})
        try:
            return self.recalled((MADE, name), self.makers[name])
        finally:
            self.notes.pop()

    def _number(self, name: str) -> Hashable:
        """Equal where what is made is; a design without room for its parts has its own."""
        try:
            return self.memory.number(name, self.made(name))
        except DesignError as error:
            return error

    def forget(self) -> None:
        """Leaves what is known of the design to the memory, in which shared results may hold its tables."""
        self.results.clear()

    def note(self, path: Path) -> None:
        """Notes that a value was read."""
        self.notes[-1][path] = None

    def values_at(self, paths: tuple[Path, ...]) -> tuple[Hashable, ...]:
        """What the design has at paths, in a form that is equal where the values are."""
        return tuple(map(self._values.__getitem__, paths))

    def _computed(self, compute: Callable[[], Any]) -> Result:
        if not self.wanted():
            raise AbandonedError
        read: dict[Path, None] = {}
        figures: dict[str, None] = {}
        self.notes.append(read)
        self.figures.append(figures)
        try:
            value, fault = compute(), None
        except DesignError as error:
            value, fault = None, error
        finally:
            self.notes.pop()
            self.figures.pop()
        return Result(value=value, fault=fault, read=read, figures=figures)


class _Values(dict[Path, Hashable]):
    """What a design has at paths, each looked up when it is first asked for.

    number: of what is made by a name.
    """

    def __init__(self, design: Design, number: Callable[[str], Hashable]) -> None:
        super().__init__()
        self._design, self._number = design, number

    def __missing__(self, path: Path) -> Hashable:
        made = path[0] == MADE
        value = self[path] = self._number(path[1]) if made else _comparable(self._design, path)
        return value


def _comparable(design: Design, path: Path) -> Hashable:
    inside: Any = design
    for step in path:
        if step == WHOLE:
            return _hashable(inside)
        inside = getattr(inside, step, None)
    return type(inside) if isinstance(inside, Table) else _hashable(inside)


def _hashable(value: Any) -> Hashable:
    """A value with all that is in it, arrays too, in a form that is equal where the values are."""
    if value is None or isinstance(value, bool | int | float | complex | str):
        return value
    if isinstance(value, list | tuple):
        return tuple(map(_hashable, value))
    if isinstance(value, Mapping):
        return tuple((key, _hashable(each)) for key, each in value.items())
    kind = value.__class__
    names = _names(kind)
    return (kind, *(_hashable(getattr(value, name)) for name in names)) if names else pickle.dumps(value)


@cache
def _names(kind: type) -> tuple[str, ...]:
    """What a table or dataclass holds; nothing of other kinds."""
    if issubclass(kind, Table):
        return tuple(kind.model_fields)
    return tuple(each.name for each in fields(kind)) if is_dataclass(kind) else ()


class Watched:
    """Stands for a table of a design and notes what is read of it; tables in it are watched too."""

    def __init__(self, table: Table, path: Path, asked: Asked) -> None:
        self._table, self._path, self._asked = table, path, asked
        self._known: dict[str, tuple[Path, Any]] = {}

    @property  # type: ignore[misc]  # what the built-in class lets itself be overridden with
    def __class__(self) -> Any:
        """That of the table: whoever asks which model it is gets the right answer."""
        return type(self._table)

    def __getattr__(self, name: str) -> Any:
        if name not in self._known:
            self._known[name] = self._read(name)
        path, value = self._known[name]
        self._asked.note(path)
        return value

    def _read(self, name: str) -> tuple[Path, Any]:
        value, path = getattr(self._table, name), (*self._path, name)
        if callable(value):
            return (*self._path, WHOLE), value
        return path, Watched(value, path, self._asked) if isinstance(value, Table) else value

    def __eq__(self, other: object) -> bool:
        self._asked.note((*self._path, WHOLE))
        return bool(self._table == (other._table if type(other) is Watched else other))

    def __hash__(self) -> int:
        self._asked.note((*self._path, WHOLE))
        return hash(self._table)

    def unchecked(self, **values: Any) -> Watched:
        """As of a table; what is read of the copy counts as read of the original."""
        own = {name: value._table if type(value) is Watched else value for name, value in values.items()}
        return Watched(self._table.unchecked(**own), self._path, self._asked)
