"""Circuits of arrays whose phases are joined: between terminals they read what the layout's network has."""

import re
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from mover_designs import FAN, changed

from coilgen.design.reading import read_tables
from coilgen.exports.fab._electrical_test import acceptance, electrical_test
from coilgen.exports.simulation._coupled import Coupled, coupled, impedance_matrix
from coilgen.job import case_of, check
from coilgen.result.figures import Figures
from coilgen.result.result import OfWinding, Result

OF_BOARD = ("phase_resistance", "line_resistance", "phase_inductance_matrix", "line_inductance")
OF_COIL = ("resistance_20c", "equivalent_circuit")
LOW = 1e-3
"""Hz, at which nothing but resistance counts."""


@pytest.fixture(scope="module")
def joined() -> Callable[[str], Result]:
    """The fan's stator in a connection, with the figures that its circuits need."""
    made: dict[str, Result] = {}

    def of(connection: str) -> Result:
        if connection not in made:
            tables = changed(FAN, {"mover": None, "array.connection": connection})
            result = check(read_tables(tables))
            case = case_of(result.design, result.coil, result.art)
            told = {name: figure for name in OF_BOARD if (figure := case.figure(name)) is not None}
            coils = tuple(
                OfWinding(
                    name=each.name,
                    coil=each.coil,
                    figures=Figures({name: each.case.figure(name) for name in OF_COIL}),
                )
                for each in case.windings
            )
            made[connection] = replace(result, figures=Figures(told), windings=coils)
        return made[connection]

    return of


def circuit(result: Result) -> Coupled:
    found = coupled(result)
    assert found is not None
    return found


@pytest.mark.parametrize("connection", ["star", "delta"])
def test_two_lines_read_the_resistance_and_inductance_of_the_figures(
    connection: str, joined: Callable[[str], Result]
) -> None:
    result = joined(connection)
    assert len(result.coil.terminals) == 3
    low, high = (impedance_matrix(circuit(result), frequency) for frequency in (LOW, 10.0))
    lines = result.figures["line_resistance"]
    told = dict(zip(lines.labels, lines.value, strict=True))
    assert low[0, 0].real == pytest.approx(told["1-3"], rel=0.02)
    assert low[1, 1].real == pytest.approx(told["2-3"], rel=0.02)
    between = low[0, 0] + low[1, 1] - low[0, 1] - low[1, 0]
    assert between.real == pytest.approx(told["1-2"], rel=0.02)
    inductance = np.mean([high[0, 0].imag, high[1, 1].imag]) / (2 * np.pi * 10.0)
    assert inductance == pytest.approx(np.mean(result.figures["line_inductance"].value), rel=0.05)


def test_open_phases_have_ports_of_their_own(joined: Callable[[str], Result]) -> None:
    result = joined("open")
    found, resistances = circuit(result), result.figures["phase_resistance"].value
    assert found.nodes == (("1", "2"), ("3", "4"), ("5", "6"))
    assert np.diag(impedance_matrix(found, LOW)).real == pytest.approx(resistances)


@pytest.mark.parametrize("connection", ["star", "delta", "open"])
def test_the_tester_is_told_every_resistance_between_terminals(
    connection: str, joined: Callable[[str], Result]
) -> None:
    result = joined(connection)
    rows = re.findall(r"^\| (\d) \| (\d) \| ", "\n".join(electrical_test(result)), re.MULTILINE)
    pairs = {"star": ["12", "13", "23"], "delta": ["12", "13", "23"], "open": ["12", "34", "56"]}
    assert sorted("".join(sorted(row)) for row in rows) == pairs[connection]
    told = re.findall(r"([\d.]+) (m?)Ω", "\n".join(electrical_test(result)))[:3]
    asked, low, high = (float(value) * (1e-3 if milli else 1.0) for value, milli in told)
    own = result.windings[0].figures["resistance_20c"]
    ends = [end / own.value for end in acceptance(own)]
    assert [low / asked, high / asked] == pytest.approx(ends, rel=0.01)
