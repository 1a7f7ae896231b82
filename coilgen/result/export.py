"""What an export is: a named writer from a result to files in memory."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from coilgen.result.result import Result


@dataclass(frozen=True, kw_only=True)
class Export:
    """A format. `files` returns paths below the result's folder and their bytes, the same on every run.

    An export that `bundles` runs after the others and finds their files in `result.files`.
    """

    name: str
    says: str
    files: Callable[[Result], Mapping[str, bytes]]
    bundles: bool = False
