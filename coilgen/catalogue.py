"""What there is: specimens found by their file, data by its row, templates by their name."""

import pkgutil
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from functools import cache
from importlib import import_module
from pathlib import Path
from types import MappingProxyType

_PACKAGE = Path(__file__).parent
_LONGEST_WORD = 80


@cache
def names(package: str) -> tuple[str, ...]:
    """Names of a package's specimens, in order of the alphabet, without importing them.

    A specimen bears the name of its file, in the package or in a folder of it; files and folders that begin
    with an underscore hold none.
    """
    return tuple(_homes(package))


@cache
def _homes(package: str) -> Mapping[str, str]:
    """The module of each specimen by its name; RuntimeError when two bear the same one."""
    found: dict[str, str] = {}
    for name, module in sorted(_modules(package)):
        if name in found:
            raise RuntimeError(f"{found[name]} and {module} bear the same name")
        found[name] = module
    return MappingProxyType(found)


def _modules(package: str) -> Iterator[tuple[str, str]]:
    """Name and module of each specimen of a package and of the folders in it."""
    for module in pkgutil.iter_modules(import_module(package).__path__):
        if module.name.startswith("_"):
            continue
        at = f"{package}.{module.name}"
        if module.ispkg:
            yield from _modules(at)
        else:
            yield module.name, at


@cache
def specimens(package: str, attribute: str) -> Mapping[str, object]:
    """Every specimen of a package by name: the named attribute of each of its modules."""
    return MappingProxyType(
        {name: getattr(import_module(module), attribute) for name, module in _homes(package).items()}
    )


def specimen(package: str, attribute: str, name: str) -> object:
    """One specimen of a package by its name, without importing the others; KeyError for no such one."""
    return getattr(import_module(_homes(package)[name]), attribute)


@cache
def rows(kind: str) -> Mapping[str, Mapping[str, object]]:
    """The rows of one data file, such as "shops", by identifier and in the file's order."""
    text = (_PACKAGE / "data" / f"{kind}.toml").read_text(encoding="utf-8")
    return MappingProxyType({name: MappingProxyType(row) for name, row in tomllib.loads(text).items()})


@cache
def templates() -> Mapping[str, str]:
    """Texts of the design files to start from, by name."""
    found = sorted(_template_folder().glob("*.toml"))
    return MappingProxyType({entry.stem: entry.read_text(encoding="utf-8") for entry in found})


def _template_folder() -> Path:
    """Inside the package when installed from a wheel, beside it in a checkout."""
    installed = _PACKAGE / "templates"
    return installed if installed.is_dir() else _PACKAGE.parent / "templates"


_MANY = 20
"""Words, of which a sentence names only some."""


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word most like the given one, or None when none is near; capitals do not count.

    >>> nearest("trace_widht", ["trace_width", "trace_spacing"])
    'trace_width'
    """
    from difflib import get_close_matches

    by_lower = {name.lower(): name for name in known}
    found = get_close_matches(word[:_LONGEST_WORD].lower(), by_lower, n=1, cutoff=0.6)
    return by_lower[found[0]] if found else None


def unknown(word: str, known: Iterable[str]) -> str:
    """What to do about a word that is not known: the nearest one, or all; of many those that hold it.

    >>> unknown("rund", ["round", "square"]), unknown("x", ["round", "square"])
    ('did you mean "round"?', 'use one of round, square')
    >>> unknown("force", ["force_constant", "force_on_magnet", *(f"power_{k}" for k in range(20))])
    'use one of force_constant, force_on_magnet'
    """
    known = tuple(known)
    near = nearest(word, known)
    holding = [name for name in known if len(known) > _MANY and word and word.lower() in name.lower()]
    return f'did you mean "{near}"?' if near else f"use one of {', '.join(holding or known)}"
