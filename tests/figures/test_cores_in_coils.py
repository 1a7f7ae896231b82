"""Cores in the pockets of an array: a rod in every coil, alone, in pairs and on a ring."""

import math
from dataclasses import replace

import numpy as np
import pytest
from array_windings import WINDING

from coilgen.design.reading import read_tables
from coilgen.errors import DesignError
from coilgen.exports.fab._order_form import order_form
from coilgen.exports.simulation._coupled import coupled, impedance_matrix
from coilgen.job import case_of, check, draw, result_of
from coilgen.result.result import Figures, OfWinding

WOUND = {**WINDING, "turns": 4, "outer_size": 10}
ROD = {"place": "pocket", "thickness": 6, "rise": 2, "material": "Mn-Zn ferrite"}
AWAY = 40
"""mm: four times the coil's size, from where each is a dipole to the other."""
MOVER = {
    "arrangement": "row",
    "poles": 8,
    "pitch": 12,
    "gap": 1,
    "magnet": {"form": "block", "width": 10, "depth": 10, "thickness": 3, "remanence": "1.2 T"},
}


def read(**tables):
    given = {"name": "a", "winding": WOUND, "pocket": {"size": 3}, "core": [ROD], "drive": {"current": 0.3}}
    return read_tables({**given, **tables})


def case(**tables):
    design = read(**tables)
    return case_of(design, *draw(design))


@pytest.fixture(scope="module")
def alone():
    return case(probe={"heights": [AWAY]})


@pytest.fixture(scope="module")
def pair():
    return case(array={"arrangement": "row", "count": 2, "pitch": AWAY, "phases": 1})


def matrices(found):
    return (np.array(found.value(f"inductance_matrix{place}")) for place in ("", "_in_place"))


def test_a_coil_far_from_others_has_the_inductance_of_one_alone_with_its_core(alone, pair):
    low, high = alone.figure("inductance_in_place").band
    wanted, (_, placed) = alone.value("inductance_in_place"), matrices(pair)
    for found in np.diag(placed):
        assert low < found < high
        assert found == pytest.approx(wanted, rel=0.01)


def test_two_far_coils_couple_by_the_moments_that_the_cores_give_them(alone, pair):
    """Dipoles side by side: M = mu0 m1 m2 / 4 pi d3, each m raised as the far field on the axis is."""
    bare, placed = matrices(pair)
    raised = np.mean([row["ratio"] for row in alone.value("core_flux_density")])
    assert 1.3 < raised < 1.5
    assert placed[0, 1] / bare[0, 1] == pytest.approx(raised**2, rel=0.03)


def test_circuits_hold_the_cores(pair):
    found = coupled(
        replace(
            result_of(pair.design, pair.coil, pair.art, ()),
            figures=Figures(
                {name: pair.figure(name) for name in ("inductance_matrix", "inductance_matrix_in_place")}
            ),
            windings=tuple(
                OfWinding(
                    name=each.name,
                    coil=each.coil,
                    figures=Figures({"equivalent_circuit": each.case.figure("equivalent_circuit")}),
                )
                for each in pair.windings
            ),
        )
    )
    placed = np.array(pair.value("inductance_matrix_in_place"))
    assert found.placed and "with cores" in found.near
    omega = 2 * np.pi * 1e3
    assert impedance_matrix(found, 1e3).imag / omega == pytest.approx(placed, rel=1e-3)


@pytest.mark.slow
def test_every_coil_has_its_core_wherever_it_is_turned():
    flat = {**ROD, "form": "plate", "width": 2.8, "depth": 1.8, "thickness": 3}
    found = case(
        core=[flat],
        pocket={"shape": "rectangular", "size": [3, 2]},
        array={"arrangement": "ring", "count": 8, "radius": 18.5, "phases": 1},
    )
    bare, placed = matrices(found)
    added = placed - bare
    assert np.array_equal(placed, placed.T)
    assert np.linalg.eigvalsh(placed).min() > 0.5 * placed[0, 0]
    # A quarter turn changes nothing; other turns cut the same plate from cells that run across it.
    assert np.diag(added)[::2] == pytest.approx(added[0, 0], rel=0.02)
    assert np.diag(added)[1::2] == pytest.approx(added[0, 0], rel=0.05)
    assert found.value("core_mass") == pytest.approx(8 * found.value("core_state")[0]["mass"])
    names = [place.centre for place in found.design.stand.bodies]
    assert names == [each.centre for each in found.design.windings]


@pytest.fixture(scope="module")
def joined():
    array = {"arrangement": "ring", "count": 6, "radius": 16, "coils": "series", "connection": "star"}
    return case(array=array, pocket={"size": 3}, core=[{**ROD, "thickness": 2}])


@pytest.mark.slow
def test_phases_and_lines_are_told_bare_and_with_cores(joined):
    senses = np.zeros((6, 3))
    for number, each in enumerate(joined.design.windings):
        senses[number, each.phase] = each.sense
    bare, placed = matrices(joined)
    added = senses.T @ (placed - bare) @ senses
    told = np.array(joined.value("phase_inductance_matrix_in_place"))
    assert told - joined.value("phase_inductance_matrix") == pytest.approx(added, rel=1e-6)
    lines = joined.value("line_inductance_in_place")
    assert all(
        1.02 < over / under < 1.3 for over, under in zip(lines, joined.value("line_inductance"), strict=True)
    )
    bands = joined.value("phase_bands")
    assert [row["inductance"] for row in bands] == pytest.approx([*np.diag(told), *lines])
    own = joined.windings[0].case.figure("inductance")
    for row in bands:
        # Cores add their own doubt to the copper's.
        assert (
            row["inductance_high"] - row["inductance"]
            > (own.band[1] / own.value - 1) * row["inductance"] * 0.9
        )
    assert any(
        "line_inductance_in_place" in each for each in joined.figure("phase_inductance_matrix").cautions
    )


def test_joined_coils_magnetise_a_core_on_a_face():
    """Their path is open at the board's terminals; what magnetises a core is not."""
    array = {"arrangement": "row", "count": 3, "pitch": 14, "coils": "series", "connection": "star"}
    plate = {"place": "bottom", "width": 60, "depth": 30, "thickness": 1}
    found = case(array=array, core=[plate], pocket={"size": 3})
    placed, bare = (found.value(f"line_inductance{end}") for end in ("_in_place", ""))
    assert all(1.2 < over / under < 2.0 for over, under in zip(placed, bare, strict=True))


def test_cores_in_coils_end_before_a_plate_behind_a_mover_s_coils():
    array = {"arrangement": "row", "count": 3, "pitch": 14}
    plate = {"place": "bottom", "form": "ring", "diameter": 60, "hole_diameter": 20, "thickness": 1}
    short = {**ROD, "thickness": 2, "rise": 0.4}
    assert read(array=array, mover=MOVER, core=[short, plate]).mover is not None
    with pytest.raises(DesignError) as told:
        read(array=array, mover=MOVER, core=[ROD, plate])
    (fault,) = told.value.faults
    assert fault.key == "core 1.rise"
    assert "core 2" in fault.says and "shorten it" in fault.says


def test_the_fab_cuts_a_pocket_in_every_coil():
    design = read(
        array={"arrangement": "grid", "columns": 3, "rows": 2, "pitch": 14}, board={"outline": "rectangle"}
    )
    result = check(design)
    assert len(result.art.pockets) == 6
    found = {question: answer for question, answer, _ in order_form(result)}
    assert found["cut-outs"].startswith("6, each round, 3.0 mm diameter, through the board")
    assert math.isclose(sum(each.core.mass for each in design.stand.bodies), 6 * design.core[0].mass)
