"""Tolerances of gaps, materials, magnet and current in cores and pulls, against designs redrawn."""

from collections.abc import Mapping

import pytest
from small_design import SMALL

from coilgen.design.design import Design
from coilgen.design.reading import read_text
from coilgen.job import case_of, draw
from coilgen.result.figure import Case

HELD = f"""{SMALL}
[drive]
current = 60
[[core]]
material = "low-carbon steel"
width = "11 mm"
thickness = "0.25 mm"
gap = "0.1 mm"
gap_tolerance = "0.04 mm"
[target]
width = "11 mm"
thickness = "0.3 mm"
gap = "0.3 mm"
gap_tolerance = "0.1 mm"
"""
PUSHED = f"""{SMALL}
[drive]
voltage = 1
[tolerance]
voltage = 0.1
remanence = 0.04
gap = "0.1 mm"
[[core]]
material = "ferrite sheet"
width = "11 mm"
thickness = "0.3 mm"
[magnet]
diameter = "5 mm"
thickness = "1 mm"
remanence = "1.2 T"
gap = "0.6 mm"
"""
SOLVED_TO = 0.002
"""Of a value: grids fitted anew, iterations."""


def case(design: Design) -> Case:
    return case_of(design, *draw(design))


def steel(*, permeability: float = 1.0, saturation: float = 1.0) -> Mapping[str, object]:
    """As the low-carbon steel of the data, permeability less that of air and saturation times factors."""
    made = {
        "name": "steel",
        "knee": "steel",
        "permeability": 1 + 294 * permeability,
        "saturation": f"{2.13 * saturation} T",
    }
    return {"core.1.material": made, "target.material": made}


ENDS: Mapping[str, tuple[Mapping[str, object], Mapping[str, object]]] = {
    "gap of core 1": ({"core.1.gap": 0.06}, {"core.1.gap": 0.14}),
    "gap of the target": ({"target.gap": 0.2}, {"target.gap": 0.4}),
    "permeability": (steel(permeability=1 / 1.4), steel(permeability=1.4)),
    "saturation": (steel(saturation=0.95), steel(saturation=1.05)),
}


@pytest.fixture(scope="module")
def held() -> Case:
    return case(read_text(HELD))


@pytest.mark.slow
@pytest.mark.parametrize("end", [0, 1])
@pytest.mark.parametrize("source", ENDS)
def test_pulls_and_cores_follow_gaps_and_materials(held: Case, source: str, end: int) -> None:
    made = case(held.design.changed(ENDS[source][end]))
    for name in ("pull_on_target", "inductance_in_place", "core_inductance", "core_saturation_current"):
        usual, found = held.spread(name), made.value(name)
        shift = usual.shifts[source][end]
        assert shift == pytest.approx(found - usual.value, rel=0.35, abs=SOLVED_TO * usual.value), name


def test_a_gap_that_scatters_rules_the_pull(held: Case) -> None:
    figure = held.figure("pull_on_target")
    assert figure is not None and figure.band is not None
    assert {source for source, _, _ in figure.contributions} >= set(ENDS)
    made = [source for source, _, _ in figure.contributions if not source.startswith("model")]
    assert made[0] == "gap of the target"
    nearest, farthest = (case(held.design.changed(end)) for end in ENDS["gap of the target"])
    assert figure.band[1] > nearest.value("pull_on_target") > figure.value
    assert figure.band[0] < farthest.value("pull_on_target") < figure.value


@pytest.mark.slow
@pytest.mark.parametrize(
    ("source", "low", "high"),
    [
        ("remanence", {"magnet.remanence": "1.152 T"}, {"magnet.remanence": "1.248 T"}),
        ("gap of the magnet", {"magnet.gap": 0.5}, {"magnet.gap": 0.7}),
    ],
)
def test_a_sheet_beside_a_magnet_follows_it(
    source: str, low: Mapping[str, object], high: Mapping[str, object]
) -> None:
    pushed = case(read_text(PUSHED))
    usual = pushed.spread("inductance_in_place")
    for shift, changes in zip(usual.shifts[source], (low, high), strict=True):
        found = case(pushed.design.changed(changes)).value("inductance_in_place") - usual.value
        assert shift == pytest.approx(found, rel=0.35, abs=SOLVED_TO * usual.value)


def test_a_cores_flux_follows_the_supply() -> None:
    strong = PUSHED[: PUSHED.index("[magnet]")]
    usual = case(read_text(strong)).spread("core_peak_flux_density")
    low, high = usual.shifts["voltage"]
    assert (low, high) == pytest.approx((-0.1 * usual.value, 0.1 * usual.value), rel=0.02)


def test_mass_is_that_of_nominal_sizes_to_three_per_cent(held: Case) -> None:
    figure = held.figure("core_mass")
    assert figure is not None
    assert figure.band == pytest.approx((0.97 * figure.value, 1.03 * figure.value))
