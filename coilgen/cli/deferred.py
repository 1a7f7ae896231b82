"""Modules that are loaded when they are used, as some packages import what they may never need.

Of the program alone: who imports coilgen in Python keeps the modules as they are. `importlib.util.LazyLoader`
would not do: pydantic writes `from importlib.metadata import entry_points` on its way to plug-ins, even where
they are switched off, and to ask a lazy module for a name loads it.
"""

import sys
from collections.abc import Callable
from importlib import import_module
from importlib.util import find_spec
from types import ModuleType
from typing import Any


def defer(name: str, *functions: str) -> None:
    """Lets a module be imported without being loaded, until it is asked for something.

    name: of a module by itself, or within a package that is loaded. functions: of it that may be imported
    too; it is loaded when one of them is called.
    `importlib.util.LazyLoader` would load it as soon as any other module imports it, before Python 3.12.
    """
    if name in sys.modules:
        return
    spec = find_spec(name)
    assert spec is not None
    stand_in = sys.modules[name] = _Deferred(name)
    stand_in.__spec__ = spec
    stand_in.__path__ = spec.submodule_search_locations or []
    for function in functions:
        setattr(stand_in, function, _called_in(name, function))
    package, _, own = name.rpartition(".")
    if package:
        setattr(sys.modules[package], own, stand_in)


class _Deferred(ModuleType):
    """Stands for a module, which takes its place as soon as something of it is asked for."""

    def __getattr__(self, asked: str) -> Any:
        return getattr(_loaded(self.__name__), asked)


def _called_in(name: str, function: str) -> Callable[..., Any]:
    return lambda *args, **named: getattr(_loaded(name), function)(*args, **named)


def _loaded(name: str) -> ModuleType:
    if isinstance(sys.modules.get(name), _Deferred):
        del sys.modules[name]
    return import_module(name)
