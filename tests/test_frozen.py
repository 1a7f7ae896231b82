"""Frozen classes behave as those of `dataclasses`, whose makers they stand in for."""

import dataclasses
import pickle
from collections.abc import Callable
from dataclasses import FrozenInstanceError, field, fields, replace
from typing import Any

import pytest

from coilgen.frozen import dataclass

Maker = Callable[..., Callable[[type[Any]], type[Any]]]


def _made(maker: Maker, **asked: bool) -> type[Any]:
    class Body:
        """Something with sizes."""

        width: float
        depth: float = 2.0
        marks: list[str] = field(default_factory=list)
        origin: str = field(default="file", compare=False, repr=False)

        def __post_init__(self) -> None:
            if self.width < 0:
                raise ValueError("width")

    return maker(frozen=True, **asked)(Body)


BOTH: tuple[Maker, ...] = (dataclass, dataclasses.dataclass)
ASKED = [{}, {"kw_only": True}, {"eq": False}, {"repr": False, "kw_only": True}]


@pytest.mark.parametrize("asked", ASKED)
def test_values_are_told_compared_and_changed_alike(asked: dict[str, bool]) -> None:
    own, usual = (_told(_made(maker, **asked)) for maker in BOTH)
    assert own == usual


def _told(kind: type[Any]) -> tuple[object, ...]:
    one, other = kind(width=1.0), kind(width=1.0, origin="bench")
    wider = replace(one, width=3.0, marks=["a"])
    names = [each.name for each in fields(kind)]
    shown = [repr(each).partition(" object at ")[0] for each in (one, wider)]
    alike = (one == other, one == one, one == wider, one != wider, one == (1.0, 2.0, []), one == "one")
    apart = one.marks is not other.marks
    return names, shown, alike, apart, kind.__match_args__, kind.__doc__, (wider.depth, wider.marks)


@pytest.mark.parametrize("maker", BOTH)
def test_a_value_cannot_be_changed(maker: Maker) -> None:
    body = _made(maker)(1.0)
    with pytest.raises(FrozenInstanceError):
        body.width = 2.0
    with pytest.raises(FrozenInstanceError):
        del body.width
    with pytest.raises(ValueError, match="width"):
        replace(body, width=-1.0)


@pytest.mark.parametrize("maker", BOTH)
def test_what_is_not_given_or_not_known_is_told(maker: Maker) -> None:
    kind = _made(maker, kw_only=True)
    for arguments, keywords in (((), {}), ((1.0,), {}), ((), {"width": 1.0, "height": 1.0})):
        with pytest.raises(TypeError, match=r"Body\.__init__\(\)"):
            kind(*arguments, **keywords)


@dataclass(frozen=True)
class Place:
    """A place, whose equals have one hash."""

    x: float
    y: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Named(Place):
    """A place with a name: those of its base come first."""

    name: str


@dataclass(frozen=True)
class Alone:
    """One field alone, and a way of its own to be told."""

    value: float

    def __repr__(self) -> str:
        return "alone"


def test_equal_values_have_one_hash_and_come_back_from_a_pickle() -> None:
    for value in (Place(1.0, 2.0), Named(1.0, name="a"), Alone(3.0)):
        back = pickle.loads(pickle.dumps(value))
        assert back == value
        assert hash(back) == hash(value)
        assert len({back, value, replace(value)}) == 1
    assert Place(1.0) != Named(1.0, name="a")
    assert repr(Named(1.0, name="a")) == "Named(x=1.0, y=0.0, name='a')"
    assert repr(Alone(1.0)) == "alone"


def test_classes_that_are_not_frozen_are_refused() -> None:
    with pytest.raises(TypeError, match="only frozen"):
        dataclass(frozen=False)
