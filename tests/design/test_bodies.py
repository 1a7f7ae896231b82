"""Cores, magnet and target: their measures, and where they stand."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from small_design import faults_with, small_with

from coilgen.catalogue import rows
from coilgen.design.bodies import POLES, Core, Magnet, Target
from coilgen.design.stacking import Stand, covers

PLATE = {"form": "plate", "width": 20, "thickness": 1}
DISC = {"form": "disc", "diameter": 20, "thickness": 2}
RING = {"form": "ring", "diameter": 12, "hole_diameter": 8, "thickness": 1}
ROD = {"place": "pocket"}
POCKET = {"size": 6}
MAGNET = {"diameter": 5, "thickness": 2, "gap": 0.5, "grade": "N42"}
TARGET = {"width": 20, "depth": 4, "thickness": 1, "gap": 0.2}

LENGTHS = st.floats(0.1, 50.0)


def with_cores(*cores, **tables):
    return small_with(core=list(cores), **tables)


def core_faults(*cores, **tables):
    return faults_with(core=list(cores), **tables)


class TestMeasures:
    @given(LENGTHS, LENGTHS, LENGTHS)
    def test_volume_and_mass_are_area_times_thickness_times_density(self, width, depth, thickness):
        core = Core.model_validate({"width": width, "depth": depth, "thickness": thickness})
        assert core.size == pytest.approx((width * 1e-3, depth * 1e-3))
        assert core.volume == pytest.approx(width * depth * thickness * 1e-9)
        assert core.mass == pytest.approx(core.volume * rows("materials")["soft iron"]["density"])

    @given(LENGTHS, st.floats(0.1, 0.9))
    def test_a_ring_is_a_disc_less_its_hole(self, diameter, share):
        def area(form, **more):
            return Core.model_validate({"form": form, "thickness": 1, "diameter": diameter, **more}).area

        ring = area("ring", hole_diameter=diameter * share)
        hole = area("disc") * share**2
        assert ring + hole == pytest.approx(area("disc"))
        assert area("disc") == pytest.approx(math.pi / 4 * diameter**2 * 1e-6)

    @pytest.mark.parametrize("kind", [Core, Magnet, Target])
    def test_a_rectangular_form_told_by_its_width_is_square(self, kind):
        form = "block" if kind is Magnet else "plate"
        given = {"form": form, "width": "3 mm", "thickness": 1}
        more = {} if kind is Core else {"gap": 1}
        more |= {"grade": "N35"} if kind is Magnet else {}
        body = kind.model_validate({**given, **more})
        assert body.depth == body.width == 3e-3
        assert body.hole == 0.0

    def test_what_is_left_out_of_a_core(self):
        core = Core.model_validate({"width": 10, "thickness": 1})
        assert (core.form, core.place, core.gap, core.rise) == ("plate", "bottom", 5e-5, None)
        assert (core.material.name, core.contact) == ("soft iron", None)

    def test_a_core_in_the_pocket_fills_it(self):
        design = with_cores(ROD, pocket=POCKET)
        (core,) = design.core
        assert (core.form, core.diameter, core.rise, core.gap) == ("rod", 6e-3, 0.0, None)
        assert core.thickness == pytest.approx(design.board.stackup.thickness, abs=1e-12)
        (short,) = with_cores({**ROD, "thickness": 1, "diameter": 5}, pocket=POCKET).core
        assert (short.thickness, short.diameter) == (1e-3, 5e-3)

    def test_a_magnet_has_the_facts_of_its_grade(self):
        magnet = Magnet.model_validate(MAGNET)
        row = rows("magnets")["N42"]
        assert magnet.remanences == tuple(row["remanence"])
        assert magnet.mass == pytest.approx(math.pi / 4 * 25 * 2 * 1e-9 * row["density"])
        assert (magnet.pole, magnet.place, magnet.offset) == ("up", "top", (0.0, 0.0))
        own = Magnet.model_validate({**MAGNET, "grade": "Y30", "pole": "west"})
        assert own.mass < magnet.mass

    def test_a_remanence_stands_for_a_grade(self):
        bare = {key: value for key, value in MAGNET.items() if key != "grade"}
        assert Magnet.model_validate({**bare, "remanence": "1.1 T"}).remanences == (1.1, 1.1)
        assert Magnet.model_validate({**bare, "remanence": 1100}).remanences == (1.1, 1.1)

    def test_poles_are_unit_directions_in_opposite_pairs(self):
        for one, other in (("up", "down"), ("north", "south"), ("east", "west")):
            assert math.hypot(*POLES[one]) == 1.0
            assert [-part for part in POLES[one]] == list(POLES[other])

    def test_a_target_weighs_what_it_is_unless_told(self):
        target = Target.model_validate(TARGET)
        steel = rows("materials")["low-carbon steel"]["density"]
        assert target.held_mass == pytest.approx(20 * 4 * 1 * 1e-9 * steel)
        assert Target.model_validate({**TARGET, "mass": "30 g"}).held_mass == 0.03


class TestStanding:
    def test_cores_of_a_face_lie_on_each_other_in_their_order(self):
        thin, thick = {**PLATE, "gap": 0.1}, {**DISC, "gap": "0.2 mm"}
        stand = with_cores(thin, thick, {**thick, "place": "top"}, {**thin, "place": "top"}).stand
        floor = -stand.thickness
        heights = [(each.bottom, each.top) for each in stand.standing]
        for found, told in zip(
            heights,
            [
                (floor - 1.1e-3, floor - 0.1e-3),
                (floor - 3.3e-3, floor - 1.3e-3),
                (0.2e-3, 2.2e-3),
                (2.3e-3, 3.3e-3),
            ],
            strict=True,
        ):
            assert found == pytest.approx(told, abs=1e-12)
        assert stand.face("bottom") == pytest.approx(floor - 3.3e-3)
        assert stand.face("top") == pytest.approx(3.3e-3)

    def test_a_bare_board_has_its_own_faces(self):
        stand = small_with().stand
        assert (stand.standing, stand.face("top"), stand.face("bottom")) == ((), 0.0, -stand.thickness)

    @pytest.mark.parametrize("rise", [-1.0, -0.2, 0.0, 0.7])
    def test_a_core_in_the_pocket_stands_by_its_rise(self, rise):
        stand = with_cores({**ROD, "rise": rise, "thickness": 3}, pocket=POCKET).stand
        (rod,) = stand.standing
        assert (rod.top, rod.bottom) == pytest.approx((rise * 1e-3, (rise - 3) * 1e-3))
        assert stand.face("top") == max(rod.top, 0.0)
        assert stand.face("bottom") == pytest.approx(min(rod.bottom, -stand.thickness))

    @given(st.sampled_from(["top", "bottom"]), st.floats(0.05, 20.0))
    def test_magnet_and_target_stand_off_the_outermost_face(self, place, gap):
        design = with_cores({**PLATE, "place": place}, magnet={**MAGNET, "place": place, "gap": gap})
        found, face = design.stand.of(design.magnet), design.stand.face(place)
        near, far = (found.bottom, found.top) if place == "top" else (found.top, found.bottom)
        assert abs(near - face) == pytest.approx(gap * 1e-3)
        assert abs(far - near) == pytest.approx(2e-3)
        assert abs(far) > abs(near)
        bare = small_with(target={**TARGET, "place": place, "gap": gap})
        assert abs(bare.stand.of(bare.target).top - bare.stand.face(place)) == pytest.approx(
            gap * 1e-3 + (1e-3 if place == "top" else 0.0)
        )

    @given(st.lists(st.tuples(st.sampled_from(["top", "bottom"]), LENGTHS, st.floats(0, 5)), max_size=6))
    def test_no_stack_meets_itself_or_the_board(self, told):
        cores = tuple(
            Core.model_validate({"width": 5, "thickness": thickness, "gap": gap, "place": place})
            for place, thickness, gap in told
        )
        stand = Stand(cores=cores, thickness=1.6e-3)
        assert stand.faults() == []
        for core, each in zip(cores, stand.standing, strict=True):
            assert each.top - each.bottom == pytest.approx(core.thickness)
            assert each.bottom >= 0.0 if core.place == "top" else each.top <= -1.6e-3
            assert stand.face("bottom") <= each.bottom
            assert each.top <= stand.face("top")

    def test_a_ring_goes_round_a_rod(self):
        rod = {**ROD, "thickness": 5, "rise": 1}
        for ring in ({**RING, "place": "top"}, {**RING, "place": "bottom"}):
            for cores in ((rod, ring), (ring, rod)):
                stand = with_cores(*cores, pocket=POCKET).stand
                assert stand.faults() == []
                assert stand.face("top") >= 1e-3


RAISED = {**ROD, "thickness": 3, "rise": 0.5}


class TestOverlap:
    def test_a_plate_meets_the_rod_that_stands_out(self):
        assert core_faults(RAISED, {**PLATE, "place": "top"}, pocket=POCKET) == [
            "core 2.gap: stands 0.45 mm in core 1; widen its gap, shorten the other, or make it a ring whose "
            "hole the other goes through"
        ]

    def test_the_later_one_is_told(self):
        (told,) = core_faults({**PLATE, "place": "top"}, RAISED, pocket=POCKET)
        assert told.startswith("core 2.rise: stands 0.45 mm in core 1; shorten it, change its rise, or ")

    def test_a_hole_too_narrow_for_the_rod(self):
        (told,) = core_faults(RAISED, {**RING, "hole_diameter": 5.9, "place": "top"}, pocket=POCKET)
        assert told.startswith("core 2.gap: stands 0.45 mm in core 1")

    def test_a_gap_over_the_rod_is_enough(self):
        assert with_cores(RAISED, {**PLATE, "place": "top", "gap": 0.5}, pocket=POCKET).stand.faults() == []


class TestPocket:
    @pytest.mark.parametrize(
        ("core", "pocket", "fits"),
        [
            ({"diameter": 6}, {"size": 6}, True),
            ({"diameter": 6.01}, {"size": 6}, False),
            ({"form": "plate", "width": 6}, {"size": 6, "shape": "square"}, True),
            ({"form": "plate", "width": 6}, {"size": 6}, False),
            ({"form": "plate", "width": 4.2}, {"size": 6}, True),
            ({"form": "plate", "width": 4.3}, {"size": 6}, False),
            ({"form": "plate", "width": 1, "depth": 5.9}, {"size": 6}, True),
            ({"form": "plate", "width": 1, "depth": 6}, {"size": 6}, False),
            ({"diameter": 6}, {"size": 6, "shape": "hexagonal"}, True),
        ],
    )
    def test_fit(self, core, pocket, fits):
        if fits:
            assert with_cores({**ROD, **core}, pocket=pocket).core[0].place == "pocket"
        else:
            (told,) = core_faults({**ROD, **core}, pocket=pocket)
            key = "width" if "width" in core else "diameter"
            assert told.startswith(f"core 1.{key}: ")
            assert "does not go into the pocket of 6 mm; make it smaller" in told

    def test_without_a_pocket_there_is_nothing_to_fill(self):
        assert core_faults(ROD) == [
            'core 1.diameter: not given; place = "pocket" takes it from a [pocket] table: add one, '
            "or put the core on a face"
        ]
        assert core_faults({**ROD, "diameter": 5}) == [
            'core 1.place: "pocket" needs a [pocket] table; add one, or put the core on a face'
        ]

    def test_a_faulty_pocket_is_told_by_itself(self):
        assert [line.partition(":")[0] for line in core_faults(ROD, pocket={"size": -1})] == ["pocket.size"]


@given(
    st.complex_numbers(max_magnitude=12.0),
    st.floats(0.1, 2.0),
    st.sampled_from(
        [
            {"form": "disc", "diameter": 9},
            {"form": "ring", "diameter": 12, "hole_diameter": 7},
            {"form": "plate", "width": 11, "depth": 6},
        ]
    ),
)
def test_a_body_covers_a_disc_when_it_holds_one_of_its_points(at, radius, measures):
    """The body against a raster of the disc's points, a hair larger or smaller to be on the safe side."""
    core = Core.model_validate({"thickness": 1, **measures})
    raster = np.linspace(0, radius, 61)[:, None] * np.exp(1j * np.linspace(0, math.tau, 241))
    points = (at + raster) * 1e-3
    if core.width and core.depth:
        held = (abs(points.real) < core.width / 2) & (abs(points.imag) < core.depth / 2)
    else:
        held = (abs(points) < core.size[0] / 2) & (abs(points) > core.hole / 2)
    assert covers(core, at * 1e-3, (radius + 1e-6) * 1e-3) or not held.any()
    assert held.any() or not covers(core, at * 1e-3, (radius - 0.06) * 1e-3)
