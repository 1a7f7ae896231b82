"""All that an export may see of a finished design."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from coilgen.artwork.art import Art
from coilgen.design.design import Design
from coilgen.layout.coil import Coil
from coilgen.result.figure import Figure
from coilgen.result.rule import Finding


@dataclass(frozen=True, kw_only=True)
class Result:
    """One design with everything derived from it.

    `cautions` begin with those that tell of harm. `files` maps a path below the result's folder to its bytes.
    """

    design: Design
    coil: Coil
    art: Art
    findings: tuple[Finding, ...]
    figures: Mapping[str, Figure]
    cautions: tuple[str, ...]
    files: Mapping[str, bytes] = field(default_factory=dict)
