"""What an export is: a named writer from a result to files in memory, and for whom its files are."""

import re
from collections.abc import Callable, Mapping
from typing import Literal

from coilgen.frozen import dataclass
from coilgen.result.result import Result

Reader = Literal["fab", "layout", "eye", "simulator", "programs"]
READERS: Mapping[Reader, str] = {
    "fab": "for the fab",
    "layout": "for a layout",
    "eye": "for the eye",
    "simulator": "for a simulator",
    "programs": "for programs",
}
"""For whom files are, in the order in which they are told."""


@dataclass(frozen=True, kw_only=True)
class Export:
    """A format. `files` returns paths below the result's folder and their bytes, the same on every run.

    reader: for whom they are. paths: how they are called, with `<name>` for the design's name and other words
    in angle brackets for what varies. An export that `bundles` runs after the others and finds their files in
    `result.files`. `drawn` files show the board alone, nothing of figures and cautions.
    """

    name: str
    says: str
    reader: Reader
    paths: tuple[str, ...]
    files: Callable[[Result], Mapping[str, bytes]]
    bundles: bool = False
    drawn: bool = False

    def writes(self, path: str, name: str) -> bool:
        """Whether a path is one of this export's for a design of that name.

        >>> gerber = Export(name="g", says="", reader="fab", paths=("fab/<name>-L<k>.gbr",), files=dict)
        >>> gerber.writes("fab/latch-L2.gbr", "latch"), gerber.writes("fab/latch.gbr", "latch")
        (True, False)
        """
        return any(re.fullmatch(_pattern(told, name), path) for told in self.paths)


def _pattern(path: str, name: str) -> str:
    parts = re.split(r"(<\w+>)", path)
    known = {"<name>": re.escape(name)}
    return "".join(known.get(part, "[^/]+") if part.startswith("<") else re.escape(part) for part in parts)
