"""A panel from a file to everything of it: what Python callers and the command line ask for."""

from collections.abc import Mapping
from dataclasses import field, replace
from os import PathLike

from coilgen.design.design import Design
from coilgen.frozen import dataclass
from coilgen.result.result import Result
from coilgen.result.rule import Finding
from coilgen.study.panel.coupon_text import ENDING, coupons_csv
from coilgen.study.panel.expected import expected
from coilgen.study.panel.fab_set import fab_files
from coilgen.study.panel.findings import findings
from coilgen.study.panel.key import key_csv
from coilgen.study.panel.page import page, picture_file
from coilgen.study.panel.panel import Panel, drawn, read


@dataclass(frozen=True, kw_only=True, eq=False, repr=False)
class PanelResult:
    """A panel with what the rules find on it and, once they are made, its files by path."""

    panel: Panel
    designs: tuple[Design, ...]
    findings: tuple[Finding, ...]
    files: Mapping[str, bytes] = field(default_factory=dict)

    def __repr__(self) -> str:
        return f"<PanelResult {self.panel.name}: {len(self.panel.boards)} boards, {len(self.files)} files>"


def panel(path: str | PathLike[str]) -> PanelResult:
    """Everything of the panel that a panel file, or a design file with variants, describes.

    DesignError when it cannot be read, or its boards cannot stand on one panel.
    """
    return with_files(checked(path))


def checked(path: str | PathLike[str]) -> PanelResult:
    """The panel of a file with its findings, without figures and files."""
    asked, designs = read(path)
    found = drawn(asked, designs)
    return PanelResult(panel=found, designs=designs, findings=findings(found))


def with_files(result: PanelResult) -> PanelResult:
    """A checked panel with every file in memory."""
    own = result.panel
    results = _expected(own)
    spacing = min(
        each.figures["smallest_spacing"].value
        for each in results.values()
        if "smallest_spacing" in each.figures
    )
    own = replace(own, ordered=replace(own.ordered, smallest_spacing=spacing))
    files = {
        **fab_files(own, results, result.findings),
        f"{own.name}-samples.csv": key_csv(own, results),
        **({f"{own.name}{ENDING}": coupons_csv(own.coupons)} if own.coupons else {}),
        f"{own.name}.svg": picture_file(own),
        f"{own.name}.html": page(own, results, result.findings),
    }
    return replace(result, panel=own, files=files)


def _expected(own: Panel) -> dict[str, Result]:
    """Of each label; boards of one copper are computed once."""
    known: dict[int, Result] = {}
    found = {}
    for each in own.boards:
        bare = each.board.result
        if id(bare) not in known:
            known[id(bare)] = expected(bare)
        found[each.board.label] = known[id(bare)]
    return found
