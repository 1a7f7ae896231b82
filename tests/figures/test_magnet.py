"""Force on a magnet over whole designs: what turns with the current and what does not, places, cautions."""

import math

import magpylib
import numpy as np
import pytest
from small_design import SMALL

from coilgen.design.reading import read_text
from coilgen.figures.field._paths import winding_path
from coilgen.figures.force._moved_magnet import magnet_for_solvers
from coilgen.job import case_of, draw
from coilgen.physics.base.conductor import Floats
from coilgen.physics.field.filaments import refined
from coilgen.result.figure import Case

MAGNET = '[magnet]\ngrade = "N42"\ndiameter = "5 mm"\nthickness = "2 mm"\ngap = "1 mm"\n'
PLATE = '[[core]]\nwidth = "16 mm"\nthickness = "0.8 mm"\n'
FIGURES = (
    "force_on_magnet",
    "force_constant",
    "force_on_magnet_parts",
    "torque_on_magnet",
    "force_against_gap",
    "force_against_offset",
    "behaviour",
)


def case(*more: str, design: str = SMALL) -> Case:
    asked = read_text(design + "".join(more))
    return case_of(asked, *draw(asked))


def magnet(**changed: str) -> str:
    """The magnet's table with some keys changed or added."""
    lines = dict(line.split(" = ") for line in MAGNET.splitlines()[1:])
    return "[magnet]\n" + "".join(f"{key} = {value}\n" for key, value in {**lines, **changed}.items())


def parts(found: Case) -> dict[str, Floats]:
    return {r["part"]: np.array([r["x"], r["y"], r["z"]]) for r in found.value("force_on_magnet_parts")}


def says(found: Case, name: str) -> str:
    figure = found.figure(name)
    assert figure is not None
    return " ".join(figure.cautions)


@pytest.fixture(scope="module")
def bare() -> Case:
    return case(MAGNET)


@pytest.fixture(scope="module")
def cored() -> Case:
    return case(MAGNET, PLATE)


def test_nothing_without_a_magnet() -> None:
    found = case()
    assert all(found.figure(name) is None for name in FIGURES)


class TestBareCoil:
    def test_nothing_at_rest_and_odd_in_the_current(self, bare: Case) -> None:
        found = parts(bare)
        assert not found["at rest"].any()
        assert found["backward"] == pytest.approx(-found["forward"])
        assert found["odd in the current"] == pytest.approx(found["forward"])

    def test_proportional_to_the_current(self, bare: Case) -> None:
        double = case(MAGNET, f"[drive]\ncurrent = {2 * bare.value('current'):.9g}\n")
        assert double.value("force_on_magnet") == pytest.approx(2 * bare.value("force_on_magnet"))
        assert double.value("force_constant") == pytest.approx(bare.value("force_constant"))

    def test_constant_times_current(self, bare: Case) -> None:
        assert bare.value("force_on_magnet") == pytest.approx(
            bare.value("force_constant") * bare.value("current")
        )

    def test_like_poles_push(self, bare: Case) -> None:
        assert says(bare, "force_constant") == ""
        """Counter-clockwise current makes the field point up: north up is drawn, north down is pushed."""
        assert bare.value("force_on_magnet") < 0
        pushed = case(magnet(pole='"down"')).value("force_on_magnet")
        assert pushed == pytest.approx(-bare.value("force_on_magnet"))
        turned = case(MAGNET, design=SMALL.replace("turns = 3", 'turns = 3\ndirection = "clockwise"'))
        assert turned.value("force_on_magnet") == pytest.approx(-bare.value("force_on_magnet"), rel=1e-3)

    def test_below_the_board_it_is_drawn_up(self, bare: Case) -> None:
        below = case(magnet(place='"bottom"')).value("force_on_magnet")
        assert below == pytest.approx(-bare.value("force_on_magnet"), rel=0.01)

    def test_a_sideways_pole_is_turned_upright(self) -> None:
        """Moment along x in a field along z: torque about -y; else what the spiral's ends do."""
        east = case(magnet(pole='"east"'))
        assert "turns this magnet" in says(east, "force_constant")
        torque = {r["part"]: r for r in east.value("torque_on_magnet")}["forward"]
        assert torque["y"] < 0
        assert abs(torque["y"]) > 50 * max(abs(torque["x"]), abs(torque["z"]))
        assert abs(east.value("force_on_magnet")) < 0.05 * abs(parts(east)["forward"][0])

    def test_force_is_the_gradient_of_the_energy(self, bare: Case) -> None:
        """Of a small magnet: F = m dBz/dz, J. D. Jackson, Classical Electrodynamics, section 5.7."""
        from coilgen.physics.field.biot_savart import axis_flux_density

        tiny = magnet(diameter='"0.5 mm"', thickness='"0.4 mm"', gap='"2 mm"', grade='"N52"')
        small = case(tiny)
        moment = 1.47 / (4e-7 * math.pi) * math.pi / 4 * 0.5e-3**2 * 0.4e-3
        z, step = 2.2e-3, 1e-5
        field = axis_flux_density(bare.conductor, np.array([z - step, z + step]))[:, 2]
        gradient = float(field[1] - field[0]) / (2 * step)
        assert small.value("force_constant") == pytest.approx(moment * gradient, rel=0.01)

    def test_a_ring_is_a_disc_less_a_disc(self, bare: Case) -> None:
        ring = case(magnet(form='"ring"', hole_diameter='"2 mm"')).value("force_constant")
        core = case(magnet(diameter='"2 mm"')).value("force_constant")
        assert ring + core == pytest.approx(bare.value("force_constant"), rel=1e-3)

    def test_layers_in_parallel_halve_the_force_of_an_ampere(self) -> None:
        """Nearly: the halves of the current flow at the heights of both layers."""
        more = 'connection = "parallel"\n'
        outside = SMALL.replace("turns = 3\n", f"turns = 3\n{more}")
        series, parallel = case(MAGNET), case(MAGNET, design=outside)
        assert len(parallel.strands) > 1
        ratio = parallel.value("force_constant") / series.value("force_constant")
        assert ratio == pytest.approx(0.5, rel=0.15)

    def test_band_from_least_to_typical_remanence(self) -> None:
        """At a given current and gap nothing else is uncertain but 0.3 % of computation."""
        driven = case(MAGNET, "[drive]\ncurrent = 0.5\n[tolerance]\ngap = 0\n")
        band = driven.figure("force_on_magnet").band  # type: ignore[union-attr]  # it applies
        force = driven.value("force_on_magnet")
        weaker = math.hypot(0.003, 1 - 1.28 / 1.32)
        assert band == pytest.approx((1.003 * force, force * (1 - weaker)), rel=1e-4)

    def test_an_exact_remanence_and_gap_leave_the_computation(self) -> None:
        exact = "[drive]\ncurrent = 0.5\n[tolerance]\ngap = 0\nremanence = 0\n"
        own = case(magnet(remanence="1300").replace('grade = "N42"\n', ""), exact)
        for name in ("force_constant", "force_on_magnet"):
            figure = own.figure(name)
            assert figure is not None
            assert figure.band == pytest.approx((1.003 * figure.value, 0.997 * figure.value), rel=1e-4)


def reaction(found: Case, *, step: float = 5e-5, across: int = 6) -> tuple[Floats, Floats]:
    """Force and torque on the magnet as the reaction to I dl x B, magpylib's B, over the copper's section.

    By Gauss's rules across the width, two points through the thickness.
    """
    given, current = magnet_for_solvers(found), found.value("current")
    polarization = given.remanence * np.array(given.pole)
    source = (
        magpylib.magnet.Cuboid(
            polarization=polarization, dimension=(*given.size, given.height), position=given.centre
        )
        if given.form == "block"
        else magpylib.magnet.Cylinder(
            polarization=polarization, dimension=(given.size[0], given.height), position=given.centre
        )
    )
    path = refined(winding_path(found, 2e-6), step)
    along, middle = path.end - path.start, 0.5 * (path.start + path.end)
    beside = np.column_stack([-along[:, 1], along[:, 0], np.zeros(len(along))])
    beside /= np.maximum(np.linalg.norm(beside, axis=1), 1e-12)[:, None]
    node, weight = np.polynomial.legendre.leggauss(across)
    force, torque = np.zeros((2, 3))
    for y, part in zip(node, weight, strict=True):
        for up in (-0.5, 0.5) / np.sqrt(3.0):
            at = middle + 0.5 * y * path.width[:, None] * beside + np.outer(up * path.thickness, [0, 0, 1])
            each = -current * (0.25 * part * path.shares)[:, None] * np.cross(along, source.getB(at))
            force, torque = force + each.sum(axis=0), torque + np.cross(at - given.centre, each).sum(axis=0)
    return force, torque


class TestNearTheBoard:
    """From 25 um of gap on: within 0.5 %, figure and tables alike, each torque with its sign."""

    @pytest.mark.parametrize(
        "asked",
        [
            {"gap": '"25 um"'},
            {"gap": '"60 um"', "offset": "[1.3, 0.4]"},
            {"gap": '"25 um"', "offset": "[3.2, -0.7]", "pole": '"east"'},
            {
                "gap": '"40 um"',
                "offset": "[2, 1]",
                "diameter": "",
                "form": '"block"',
                "width": '"5 mm"',
                "depth": '"4 mm"',
            },
        ],
    )
    def test_is_the_reaction_to_the_copper(self, asked: dict[str, str]) -> None:
        lines = [line for line in magnet(**asked).splitlines() if not line.endswith("= ")]
        found = case("\n".join(lines) + "\n")
        force, torque = reaction(found)
        assert parts(found)["forward"] == pytest.approx(force, abs=5e-3 * np.linalg.norm(force))
        row = {r["part"]: [r["x"], r["y"], r["z"]] for r in found.value("torque_on_magnet")}["forward"]
        assert row == pytest.approx(torque, abs=5e-3 * np.linalg.norm(torque))
        for name, key, value in (
            ("force_against_gap", "gap", found.design.magnet.gap),  # type: ignore[union-attr]  # it has one
            ("force_against_offset", "offset", found.design.magnet.offset[0]),  # type: ignore[union-attr]
        ):
            same = next(r for r in found.value(name) if r[key] == pytest.approx(value, abs=1e-12))
            assert same["force"] == pytest.approx(found.value("force_on_magnet"), rel=1e-12)
            assert [same["torque_x"], same["torque_y"]] == pytest.approx(row[:2], rel=1e-12)

    def test_bands_hold_the_forces(self) -> None:
        found = case(magnet(gap='"60 um"'))
        for name in ("force_against_gap", "force_against_offset"):
            for row in found.value(name):
                assert row["force_low"] < row["force"] < row["force_high"]
        given = next(r for r in found.value("force_against_gap") if r["gap"] == pytest.approx(6e-5))
        figure = found.figure("force_on_magnet")
        assert figure is not None
        assert given["force"] == pytest.approx(figure.value, rel=1e-6)
        assert (given["force_low"], given["force_high"]) == pytest.approx(figure.band, rel=0.05)


class TestPlaces:
    def test_gaps_from_a_tenth_to_four_times(self, bare: Case) -> None:
        rows = bare.value("force_against_gap")
        gaps = [row["gap"] for row in rows]
        assert len(gaps) == 9
        assert (gaps[0], gaps[-1]) == pytest.approx((1e-4, 10**0.6 * 1e-3))
        assert gaps == sorted(gaps)
        given = next(row for row in rows if row["gap"] == pytest.approx(1e-3))
        assert given["force"] == pytest.approx(bare.value("force_on_magnet"))

    def test_each_gap_is_that_of_a_design_with_it(self, bare: Case) -> None:
        last = bare.value("force_against_gap")[-1]
        there = case(magnet(gap=f'"{last["gap"] * 1e3:.9g} mm"'))
        assert last["force"] == pytest.approx(there.value("force_on_magnet"), rel=1e-6)

    def test_no_gap_under_the_least_of_a_design(self) -> None:
        rows = case(magnet(gap='"0.05 mm"')).value("force_against_gap")
        assert min(row["gap"] for row in rows) >= 2e-5

    @pytest.mark.parametrize("place", ["top", "bottom"])
    def test_it_falls_with_the_gap(self, place: str) -> None:
        """Beyond about a third of the turns' radius; nearer, the field's slope is still growing."""
        rows = case(magnet(place=f'"{place}"', gap='"4 mm"')).value("force_against_gap")
        size = [abs(row["force"]) for row in rows if row["gap"] > 2e-3]
        assert len(size) == 5
        assert size == sorted(size, reverse=True)

    def test_each_offset_is_that_of_a_design_with_it(self, bare: Case) -> None:
        rows = bare.value("force_against_offset")
        assert [rows[0]["offset"], rows[-1]["offset"]] == pytest.approx([0.0, 8e-3])
        there = case(magnet(offset=f"[{rows[4]['offset'] * 1e3:.9g}, 0]"))
        found = parts(there)["forward"]
        assert [rows[4]["sideways"], rows[4]["force"]] == pytest.approx([found[0], found[2]])

    def test_torques_are_those_of_designs_there(self) -> None:
        aside = case(magnet(pole='"east"'))
        for rows, moved in (
            (aside.value("force_against_gap"), lambda r: {"gap": f'"{r["gap"] * 1e3:.9g} mm"'}),
            (aside.value("force_against_offset"), lambda r: {"offset": f"[{r['offset'] * 1e3:.9g}, 0]"}),
        ):
            there = case(magnet(pole='"east"', **moved(rows[3])))
            found = {r["part"]: r for r in there.value("torque_on_magnet")}["forward"]
            assert rows[3]["torque_y"] == pytest.approx(found["y"])
            assert rows[3]["torque_x"] == pytest.approx(found["x"])

    def test_the_given_offset_is_among_them(self) -> None:
        aside = case(magnet(offset="[1.3, 0.4]"))
        row = next(r for r in aside.value("force_against_offset") if r["offset"] == pytest.approx(1.3e-3))
        assert row["force"] == pytest.approx(aside.value("force_on_magnet"))


class TestWithCore:
    def test_at_rest_it_is_drawn_to_the_core(self, cored: Case) -> None:
        assert parts(cored)["at rest"][2] < 0
        above = case(magnet(place='"bottom"'), PLATE + 'place = "top"\n')
        assert parts(above)["at rest"][2] > 0

    def test_the_core_strengthens_the_constant(self, bare: Case, cored: Case) -> None:
        """The winding's image in the plate up to doubles its field."""
        ratio = cored.value("force_constant") / bare.value("force_constant")
        assert 1.2 < ratio < 2.0

    def test_parts_sum_up(self, cored: Case) -> None:
        found = parts(cored)
        assert found["odd in the current"] == pytest.approx((found["forward"] - found["backward"]) / 2)
        assert cored.value("force_on_magnet") == found["forward"][2]

    def test_at_the_given_gap_it_is_the_force(self, cored: Case) -> None:
        row = next(r for r in cored.value("force_against_gap") if r["gap"] == pytest.approx(1e-3))
        assert row["force"] == cored.value("force_on_magnet")
        assert row["per_ampere"] == pytest.approx(cored.value("force_constant"), rel=1e-3)

    def test_the_pull_to_the_core_falls_with_the_gap(self, cored: Case) -> None:
        pull = [-row["at_rest"] for row in cored.value("force_against_gap")]
        assert len(pull) >= 4
        assert pull == sorted(pull, reverse=True)
        assert pull[-1] > 0

    def test_the_band_holds_the_force(self, cored: Case) -> None:
        figure = cored.figure("force_on_magnet")
        assert figure is not None
        assert figure.band is not None
        assert figure.band[0] < figure.value < figure.band[1]

    @pytest.mark.parametrize(("pole", "image"), [("up", -0.6221), ("east", -0.2853)])
    def test_over_a_wide_plate_it_is_drawn_to_its_image(self, pole: str, image: float) -> None:
        """A block 1.5 mm over the plate, against magpylib's force between it and its mirror image, N.

        The band is far from changing sign: the core's cells are no wider than the gap.
        """
        plate = PLATE.replace("12 mm", "40 mm").replace("0.8 mm", "3 mm") + 'place = "top"\n'
        block = (
            '[magnet]\nform = "block"\nwidth = "5 mm"\ndepth = "4 mm"\nthickness = "2 mm"\n'
            f'remanence = "1.2 T"\ngap = "1.5 mm"\npole = "{pole}"\n'
        )
        found = case(block, plate)
        assert parts(found)["at rest"][2] == pytest.approx(image, rel=0.03)
        figure = found.figure("force_on_magnet")
        assert figure is not None
        assert figure.band is not None
        assert 1.2 * image < figure.band[0] < image < figure.band[1] < 0.8 * image

    def test_no_gap_where_the_magnets_field_is_coarse(self) -> None:
        """With the core on the magnet's own side, gaps under a twelfth of its size are left out."""
        over = case(MAGNET, PLATE + 'place = "top"\n')
        gaps = [row["gap"] for row in over.value("force_against_gap")]
        assert gaps[0] == pytest.approx(0.5e-3)
        assert len(gaps) == 5


class TestBehaviour:
    def test_a_bare_coil_is_a_voice_coil(self, bare: Case) -> None:
        rows = bare.value("behaviour")
        assert [row["part"] for row in rows] == ["without current", "odd in the current"]
        assert rows[0]["force"] == 0.0
        assert "reverses with the current" in rows[1]["says"]
        assert says(bare, "behaviour") == ""

    def test_a_plate_draws_whatever_the_current(self, cored: Case) -> None:
        rows = cored.value("behaviour")
        assert rows[0]["says"] == "drawn to the core whatever the current"
        assert "too little to turn the force round" in says(cored, "behaviour")

    def test_a_weak_far_core_leaves_the_coil_its_way(self) -> None:
        """A thin sheet of weak ferrite far below, and a strong current."""
        sheet = PLATE.replace("0.8 mm", "0.1 mm") + 'gap = "10 mm"\nmaterial = "ferrite sheet"\n'
        found = case(MAGNET, sheet, "[drive]\ncurrent = 3.0\n")
        rows = found.value("behaviour")
        assert 0 < abs(rows[0]["force"]) < abs(rows[1]["force"])
        assert rows[0]["says"] == "a weak pull to the core"
        assert "though not evenly" in rows[1]["says"]
        assert says(found, "behaviour") == ""

    def test_in_between(self) -> None:
        sheet = PLATE.replace("0.8 mm", "0.1 mm") + 'gap = "6 mm"\nmaterial = "ferrite sheet"\n'
        found = case(MAGNET, sheet, "[drive]\ncurrent = 3.0\n")
        assert found.value("behaviour")[0]["says"] == "a pull to the core, one way only"


class TestCautions:
    def test_every_magnet_is_to_be_handled_with_care(self, bare: Case, cored: Case) -> None:
        for found in (bare, cored):
            told = says(found, "force_on_magnet")
            assert "pinches" in told
            assert "cards" in told
            assert "implants" in told

    def test_how_far_its_own_field_reaches(self, bare: Case) -> None:
        """Against magpylib's closed form for the field of a disc."""
        disc = magpylib.magnet.Cylinder(polarization=(0, 0, 1.32), dimension=(5e-3, 2e-3))
        assert disc.getB((0, 0, 25.5e-3))[2] == pytest.approx(5e-4, rel=0.03)
        assert "over 0.5 mT up to about 25 mm from it" in says(bare, "force_on_magnet")

    def test_very_near_a_core(self, cored: Case) -> None:
        near = case(magnet(gap='"0.3 mm"'), PLATE + 'place = "top"\n')
        assert "rough guide" in says(near, "force_on_magnet")
        assert "rough guide" not in says(cored, "force_on_magnet")

    def test_beside_a_target(self, bare: Case) -> None:
        both = case(MAGNET, '[target]\nwidth = "5 mm"\nthickness = "1 mm"\ngap = "1 mm"\nplace = "bottom"\n')
        assert "judged apart" in says(both, "force_on_magnet")
        assert "judged apart" not in says(bare, "force_on_magnet")
