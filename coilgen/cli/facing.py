"""Two designs face to face: their figures as a table or as JSON."""

import json
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import click

from coilgen import __version__
from coilgen.cli.report import show_remarks
from coilgen.cli.terminal import show_table, show_text, step
from coilgen.design.design import Design
from coilgen.design.keys import Quantity
from coilgen.errors import DesignError, Fault, UserError
from coilgen.exports.data.result_json import told
from coilgen.job import ESTIMATE
from coilgen.result.figure import Case
from coilgen.result.figure_text import band_text, cells, is_number, value_text
from coilgen.study.facing import Pair, case_of, pair
from coilgen.units import in_mm

DISTANCE = Quantity(dimension="length", least=2e-5, most=2.0)


class PairError(UserError):
    """Options that do not make a pair of boards."""


def distance_of(text: str) -> float:
    """The distance between the boards, m: a number in mm or with a unit. PairError for anything else."""
    try:
        given: object = float(text)
    except ValueError:
        given = text
    try:
        return DISTANCE.value(given)
    except ValueError as error:
        raise PairError(f"--distance: {error}") from None


def show_pair(lower: tuple[Path, Design], upper: tuple[Path, Design], distance: float, as_json: bool) -> None:
    """Computes the pair and prints it."""
    with step("computing the pair"):
        found = pair(_case(*lower), _case(*upper), distance)
    if as_json:
        click.echo(json_text(found).encode(), nl=False)
        return
    _show(found)


def _case(path: Path, design: Design) -> Case:
    with faults_in(path):
        return case_of(design)


@contextmanager
def faults_in(path: Path) -> Iterator[None]:
    """Faults of a design told with its file, as there are two."""
    try:
        yield
    except DesignError as error:
        raise DesignError(
            Fault(key=fault.key if fault.key == str(path) else f"{path}: {fault.key}", says=fault.says)
            for fault in error.faults
        ) from None


def _show(found: Pair) -> None:
    show_text(f"{found.upper} faces {found.lower}, {in_mm(found.distance)} over its top, on the same axis")
    figures = found.figures.values()
    single = [figure for figure in figures if is_number(figure.value)]
    show_table(
        ("figure", "value", "band", "what"),
        [(figure.name, value_text(figure), band_text(figure), figure.says) for figure in single],
    )
    for figure in figures:
        if not is_number(figure.value):
            show_text("")
            show_text(figure.says, label=f"{figure.name}:", style="bold")
            show_table(*cells(figure))
    show_text("")
    show_remarks((*found.cautions, ESTIMATE))


def json_text(found: Pair) -> str:
    """The pair in SI, its figures as those of one design are told."""
    document = {
        "coilgen": __version__,
        "lower": found.lower,
        "upper": found.upper,
        "distance": found.distance,
        "figures": {name: told(figure) for name, figure in found.figures.items()},
        "cautions": [*found.cautions, ESTIMATE],
    }
    return json.dumps(document, indent=2, ensure_ascii=False, allow_nan=False) + "\n"
