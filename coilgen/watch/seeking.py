"""A search that was begun on the page: how far it is, and what it found.

folder: where a calibration is looked for.
"""

from __future__ import annotations

import re
from base64 import b64encode
from collections.abc import Callable, Iterable
from dataclasses import replace
from pathlib import Path
from typing import Any

from coilgen.design.reading import read_beside
from coilgen.errors import DesignError
from coilgen.exports.page._words import typeset, words
from coilgen.frozen import dataclass
from coilgen.study.memory import AbandonedError
from coilgen.study.optimize import optimize
from coilgen.study.search.found import Found
from coilgen.study.search.problem import Problem, Tried, problem
from coilgen.study.search.text import found_lines, named, optimum_toml, so_far
from coilgen.watch.trial import key_words


@dataclass(frozen=True, kw_only=True)
class Sought:
    """A search of a design file's text. says: lines for the page; file: name and content of what it found.

    folder: where a calibration is looked for.
    """

    of: str
    folder: Path
    says: tuple[str, ...]
    ended: bool = False
    file: tuple[str, bytes] | None = None

    def told(self) -> dict[str, Any]:
        """For the page."""
        link = None
        if self.file is not None:
            name, content = self.file
            link = {"name": name, "href": f"data:application/toml;base64,{b64encode(content).decode()}"}
        return {"says": [typeset(line) for line in self.says], "ended": self.ended, "file": link}


def begun(text: str, folder: Path) -> Sought:
    """A search that may begin; DesignError where there is nothing to search for."""
    problem(read_beside(text, folder))
    return Sought(of=text, folder=folder, says=("searching the file as it was saved …",))


def sought(begin: Sought, tell: Callable[[Sought], bool]) -> Sought:
    """Searches to the end. tell: takes how far it is after each run, false once nobody waits.

    AbandonedError then.
    """
    design = read_beside(begin.of, begin.folder)
    asked = problem(design)

    def progress(runs: int, best: Tried | None) -> None:
        says = in_words((f"searching: {so_far(asked, runs, best)}",), asked)
        if not tell(replace(begin, says=says)):
            raise AbandonedError

    try:
        return _ended(begin, optimize(design, progress=progress))
    except DesignError as error:
        return replace(begin, says=tuple(str(fault) for fault in error.faults), ended=True)


def _ended(begin: Sought, found: Found) -> Sought:
    chosen, says = found.best or found.nearest, in_words(found_lines(found), found.problem)
    if chosen is None:
        return replace(begin, says=says, ended=True)
    name = f"{named(found.problem.design.name, 'optimum')}.toml"
    return replace(begin, says=says, ended=True, file=(name, optimum_toml(found, chosen)))


def in_words(lines: Iterable[str], asked: Problem) -> tuple[str, ...]:
    """Lines of a search as the page calls things: figures in words, keys in words with the key beside."""
    told = {of.name: words(of.name) for of in (*(of for _, of in asked.goals), *(b.of for b in asked.bounds))}
    told |= {axis.key: f"{key_words(axis.key)} ({axis.key})" for axis in asked.axes}
    longest_first = sorted(told, key=len, reverse=True)
    name = re.compile(rf"(?<![\w.])(?:{'|'.join(map(re.escape, longest_first))})(?![.]?\w)")
    return tuple(name.sub(lambda found: told[found[0]], line) for line in lines)
