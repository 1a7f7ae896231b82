"""JSON of a result: the resolved design, figures, findings, cautions."""

import json
from collections.abc import Mapping
from typing import Any

from coilgen import __version__
from coilgen.result.export import Export
from coilgen.result.figure import Figure
from coilgen.result.result import Result
from coilgen.result.rule import Finding


def files(result: Result) -> dict[str, bytes]:
    """One file, UTF-8, indented by two."""
    text = json.dumps(document(result), indent=2, ensure_ascii=False, allow_nan=False)
    return {f"{result.design.name}.json": f"{text}\n".encode()}


def document(result: Result) -> dict[str, Any]:
    """The result as plain values. Figures and design in SI; findings' lengths and places in mm."""
    return {
        "coilgen": __version__,
        "name": result.design.name,
        "design": result.design.resolved(),
        "figures": _figures(result.figures),
        **_windings(result),
        "findings": [_finding(finding) for finding in result.findings],
        "cautions": list(result.cautions),
    }


def _figures(figures: Mapping[str, Figure]) -> dict[str, Any]:
    return {name: told(figure) for name, figure in figures.items()}


def _windings(result: Result) -> dict[str, Any]:
    """Each winding's own figures, where there are several."""
    if not result.windings:
        return {}
    return {"windings": [{"name": each.name, "figures": _figures(each.figures)} for each in result.windings]}


def told(figure: Figure) -> dict[str, Any]:
    """A figure as plain values, SI."""
    return {
        "value": figure.value,
        "unit": figure.unit,
        "says": figure.says,
        "model": figure.model,
        "band": None if figure.band is None else list(figure.band),
        "contributions": [
            {"from": source, "low": low, "high": high} for source, low, high in figure.contributions
        ],
    }


def _finding(finding: Finding) -> dict[str, Any]:
    length = finding.unit == "m"
    return {
        "rule": finding.rule,
        "value": _mm(finding.value) if length else finding.value,
        "limit": _mm(finding.limit) if length else finding.limit,
        "unit": "mm" if length else finding.unit,
        "layer": finding.layer,
        "at": None if finding.at is None else [_mm(finding.at.real), _mm(finding.at.imag)],
        "says": finding.says,
    }


def _mm(length: float) -> float:
    """Metres as millimetres, to the nanometre."""
    return round(length * 1e3, 6) + 0.0


EXPORT = Export(
    name="result_json",
    says="JSON: resolved design, figures, findings, cautions",
    reader="programs",
    paths=("<name>.json",),
    files=files,
)
