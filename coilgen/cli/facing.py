"""Two designs face to face: their figures as a table or as JSON."""

import json
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import click

from coilgen import __version__
from coilgen.cli.findings import show_remarks
from coilgen.cli.terminal import show_table, show_text, step
from coilgen.design.design import Design
from coilgen.design.keys import Quantity
from coilgen.errors import DesignError, Fault, UserError, shown
from coilgen.exports.data.result_json import told
from coilgen.job import ESTIMATE
from coilgen.result.figure import Case
from coilgen.result.figure_text import band_text, cells, is_number, value_text
from coilgen.study.facing import Pair, case_of, pair
from coilgen.study.placed_boards import Standing
from coilgen.units import in_mm

DISTANCE = Quantity(dimension="length", least=2e-5, most=2.0)
SHIFT = Quantity(dimension="length", least=-2.0, most=2.0)
TURN = Quantity(dimension="rotation", least=-360.0, most=360.0)


class PairError(UserError):
    """Options that do not make a pair of boards."""


def distance_of(text: str) -> float:
    """The distance between the boards, m: a number in mm or with a unit. PairError for anything else."""
    return _value("--distance", text, DISTANCE)


def shift_of(text: str) -> complex:
    """x and y of the upper board's centre over the lower's, m: numbers in mm or with units."""
    parts = text.split(",")
    if len(parts) != 2:
        raise PairError(f'--shift: {shown(text)} is not x and y; write such as "10 mm, 0"')
    return complex(*(_value("--shift", part.strip(), SHIFT) for part in parts))


def turn_of(text: str) -> float:
    """Turn of the upper board, degrees: a number, or with a unit."""
    return _value("--turn", text, TURN)


def _value(option: str, text: str, kind: Quantity) -> float:
    try:
        given: object = float(text)
    except ValueError:
        given = text
    try:
        return kind.value(given)
    except ValueError as error:
        raise PairError(f"{option}: {error}") from None


def show_pair(
    lower: tuple[Path, Design], upper: tuple[Path, Design], standing: Standing, as_json: bool
) -> None:
    """Computes the pair and prints it."""
    with step("computing the pair"):
        found = pair(_case(*lower), _case(*upper), standing.distance, standing.shift, standing.turn)
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
    show_text(_head(found))
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


def _head(found: Pair) -> str:
    at = found.standing
    told = f"{found.upper} faces {found.lower}, {in_mm(at.distance)} over its top"
    if at.on_axis:
        return f"{told}, on the same axis"
    place = f"{told}, its centre {in_mm(at.shift.real)} to the right and {in_mm(at.shift.imag)} up"
    return f"{place}, turned by {at.turn:g}°" if at.turn else place


def json_text(found: Pair) -> str:
    """The pair in SI, its figures as those of one design are told."""
    document = {
        "coilgen": __version__,
        "lower": found.lower,
        "upper": found.upper,
        "distance": found.standing.distance,
        "shift": [found.standing.shift.real, found.standing.shift.imag],
        "turn": found.standing.turn,
        "figures": {name: told(figure) for name, figure in found.figures.items()},
        "cautions": [*found.cautions, ESTIMATE],
    }
    return json.dumps(document, indent=2, ensure_ascii=False, allow_nan=False) + "\n"
