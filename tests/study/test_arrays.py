"""Rows and columns of arrays: what of their coils, phases and mover stands in sweeps and comparisons."""

import pytest
from array_windings import WINDING

from coilgen.design.reading import read_tables
from coilgen.study.compare import compare
from coilgen.study.plan import plan

ROW = {"arrangement": "row", "count": 6, "pitch": 14}
MAGNET = {"form": "block", "width": 10, "depth": 10, "thickness": 3, "remanence": "1.2 T"}
MOVER = {"arrangement": "row", "poles": 8, "pitch": 12, "gap": 1, "magnet": MAGNET}
ROD = {"place": "pocket", "material": "Mn-Zn ferrite"}


def design(**tables):
    return read_tables({"name": "a", "winding": {**WINDING, "outer_size": 10}, "array": ROW, **tables})


def test_rows_of_a_sweep_tell_the_first_coil_and_what_its_mover_or_core_does():
    passed = plan(design(mover=MOVER), {"mover.gap": [1, 2]}).figures
    assert "thrust_constant" in passed and "torque_ripple" in passed
    cored = plan(design(pocket={"size": 3}, core=[ROD]), {"core.1.rise": [0, 1]}).figures
    assert [name for name in cored if "." in name] == [
        "windings.A1.resistance_20c",
        "windings.A1.inductance",
        "inductance_matrix_in_place.A1.A1",
    ]
    assert not any("coupling" in name for name in (*passed, *cored))


@pytest.mark.slow
def test_variants_with_and_without_cores_differ_in_the_inductance_in_place():
    given = design(
        array={**ROW, "count": 2, "phases": 1},
        pocket={"size": 3},
        core=[ROD],
        variant=[{"name": "bare", "without": ["core"]}],
    )
    cored, bare = compare(given).rows
    assert cored.values["coils.inductance"] == bare.values["coils.inductance"]
    assert bare.values["coils.inductance_in_place"] is None
    assert cored.values["coils.inductance_in_place"] > 1.02 * cored.values["coils.inductance"]
