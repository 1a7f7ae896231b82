"""All that an export may see of a finished design."""

from collections.abc import Mapping
from dataclasses import field, replace

from coilgen.artwork.art import Art
from coilgen.design.design import Design
from coilgen.frozen import dataclass
from coilgen.layout.coil import Coil, Trace
from coilgen.result.figures import Figures
from coilgen.result.rule import Finding


@dataclass(frozen=True, kw_only=True)
class OfWinding:
    """One of several windings of a finished board: its coil where it lies, and the figures of it alone."""

    name: str
    coil: Coil
    figures: Figures


@dataclass(frozen=True, kw_only=True, repr=False)
class Result:
    """One design with everything derived from it.

    `windings` are those of a board that has several: `coil` holds the copper of all then, `figures` are the
    board's. `cautions` begin with those that tell of harm. `files` maps a path below the result's folder to
    its bytes.
    """

    design: Design
    coil: Coil
    art: Art
    findings: tuple[Finding, ...]
    figures: Figures
    cautions: tuple[str, ...]
    windings: tuple["OfWinding", ...] = ()
    files: Mapping[str, bytes] = field(default_factory=dict)

    @property
    def coils(self) -> tuple[Coil, ...]:
        """Each winding's coil where it lies on the board."""
        return tuple(each.coil for each in self.windings) or (self.coil,)

    @property
    def kinds(self) -> tuple["OfWinding", ...]:
        """The windings whose own figures differ; the coils of an array are alike and told as one."""
        if self.design.array is None:
            return self.windings
        return (replace(self.windings[0], name="each coil"),)

    @property
    def nets(self) -> tuple[str, ...]:
        """Nets of the board's terminals, in their order: of each winding, or of coils that are joined."""
        return tuple(dict.fromkeys(terminal.net for terminal in self.coil.terminals))

    @property
    def joints(self) -> tuple[Trace, ...]:
        """Traces that join the coils of an array."""
        return self.coil.traces[sum(len(coil.traces) for coil in self.coils) :]

    def __repr__(self) -> str:
        counted = [
            f"{len(found)} {word if len(found) == 1 else word + 's'}"
            for word, found in (
                ("figure", self.figures),
                ("finding", self.findings),
                ("caution", self.cautions),
                ("file", self.files),
            )
        ]
        return f"<Result {self.design.name}: {', '.join(counted)}>"

    def _repr_svg_(self) -> str | None:
        """The board's picture, in a notebook; None before the files are made."""
        picture = self.files.get(f"{self.design.name}.svg")
        return None if picture is None else picture.decode()
