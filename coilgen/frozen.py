"""Frozen dataclasses, made in a tenth of the time: a command makes some 250 of them before it does anything.

`dataclasses` compiles six methods for each class; here the constructor is, when the class is first called,
and the others are closures.
"""

from collections.abc import Callable
from dataclasses import MISSING, Field, FrozenInstanceError, fields
from dataclasses import dataclass as with_fields
from operator import attrgetter
from reprlib import recursive_repr
from typing import TYPE_CHECKING, Any, TypeVar

__all__ = ["dataclass"]

Made = TypeVar("Made", bound=type[Any])


def _frozen(
    *,
    frozen: bool,
    kw_only: bool = False,
    eq: bool = True,
    repr: bool = True,  # noqa: A002  # as `dataclasses` calls it
) -> Callable[[Made], Made]:
    """Like `dataclasses.dataclass` with these arguments, of which frozen must be true; it knows no others.

    Fields, `replace`, `match` and pickles are those of any dataclass, and what a class defines itself stays.
    """
    if not frozen:
        raise TypeError("only frozen classes are made here; use dataclasses.dataclass")

    def made(cls: Made) -> Made:
        cls.__doc__ = cls.__doc__ or cls.__name__  # or else its signature is worked out for it
        with_fields(init=False, repr=False, eq=False, kw_only=kw_only)(cls)
        own: dict[str, Callable[..., Any]] = {"__init__": _first_call(cls)}
        own |= {"__setattr__": _refuse, "__delattr__": _refuse}
        own |= {"__repr__": _shown} if repr else {}
        own |= _comparison(cls) if eq else {}
        for name, method in own.items():
            if cls.__dict__.get(name) is None:
                setattr(cls, name, method)
        return cls

    return made


def _first_call(cls: type[Any]) -> Callable[..., None]:
    """The constructor until it is first called, as many classes of a command are not."""

    def construct(_self: object, /, *args: object, **given: object) -> None:
        constructor = cls.__init__ = _constructor(cls)
        constructor(_self, *args, **given)

    return construct


def _constructor(cls: type[Any]) -> Callable[..., None]:
    """What takes the fields, those by keyword alone last, and puts each into its place."""
    given: dict[str, Any] = {"_put": object.__setattr__, "_missing": MISSING}
    ordered = sorted(fields(cls), key=lambda each: bool(each.kw_only))
    by_place = sum(not each.kw_only for each in ordered)
    takes = [_parameter(each, given) for each in ordered]
    if by_place < len(ordered):
        takes.insert(by_place, "*")
    puts = [f" _put(_self, {each.name!r}, {_argument(each)})" for each in ordered]
    ends = [" _self.__post_init__()"] if hasattr(cls, "__post_init__") else []
    head = f"def __init__({', '.join(['_self', *takes])}):"
    exec("\n".join([head, *puts, *ends, " return None"]), given)
    constructor: Callable[..., None] = given["__init__"]
    constructor.__qualname__ = f"{cls.__qualname__}.__init__"
    return constructor


def _parameter(told: Field[Any], given: dict[str, Any]) -> str:
    if told.default_factory is not MISSING:
        given[f"_made_{told.name}"] = told.default_factory
        return f"{told.name}=_missing"
    if told.default is not MISSING:
        given[f"_usual_{told.name}"] = told.default
        return f"{told.name}=_usual_{told.name}"
    return told.name


def _argument(told: Field[Any]) -> str:
    if told.default_factory is MISSING:
        return told.name
    return f"_made_{told.name}() if {told.name} is _missing else {told.name}"


def _comparison(cls: type[Any]) -> dict[str, Callable[..., Any]]:
    """Equality and hash by the fields that count; nothing is equal to an instance of another class."""
    values = _values([each.name for each in fields(cls) if each.compare])

    def same(self: object, other: object) -> Any:
        return values(self) == values(other) if other.__class__ is self.__class__ else NotImplemented

    def hashed(self: object) -> int:
        return hash(values(self))

    return {"__eq__": same, "__hash__": hashed}


def _values(names: list[str]) -> Callable[[object], tuple[Any, ...]]:
    if len(names) > 1:
        return attrgetter(*names)
    return lambda value: tuple([getattr(value, name) for name in names])


@recursive_repr()
def _shown(self: Any) -> str:
    told = ", ".join(f"{each.name}={getattr(self, each.name)!r}" for each in fields(self) if each.repr)
    return f"{type(self).__qualname__}({told})"


def _refuse(self: object, name: str, value: object = None) -> None:
    raise FrozenInstanceError(f"cannot assign to field {name!r}: {type(self).__qualname__} is frozen")


if TYPE_CHECKING:
    from dataclasses import dataclass
else:
    dataclass = _frozen
