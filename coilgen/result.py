"""All that an export may see of a finished design."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from coilgen.art import Art
from coilgen.coil import Coil
from coilgen.design import Design
from coilgen.figure import Figure
from coilgen.rule import Finding


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
