"""Two boards face to face: the laws of their coupling and force, weights, and each remark."""

from dataclasses import replace

import numpy as np
import pytest
from designs import Asked, text
from small_design import SMALL

from coilgen.design.reading import read_text
from coilgen.errors import DesignError
from coilgen.physics.field.biot_savart import flux_linkage
from coilgen.study.facing import board_mass, case_of, pair

G = 9.80665


@pytest.fixture(scope="module")
def lower():
    return case_of(read_text(SMALL))


@pytest.fixture(scope="module")
def upper():
    return case_of(read_text(SMALL.replace('"small"', '"other"').replace("turns = 3", "turns = 2")))


def value(found, name):
    return found.figures[name].value


class TestLaws:
    def test_reciprocity(self, lower, upper):
        """The mutual inductance does not ask which board lies on top, but for their thickness alike."""
        assert lower.design.board.stackup.thickness == upper.design.board.stackup.thickness
        one, other = pair(lower, upper, 3e-3), pair(upper, lower, 3e-3)
        assert value(one, "mutual_inductance") == pytest.approx(value(other, "mutual_inductance"), rel=2e-3)
        assert value(one, "force") == pytest.approx(value(other, "force"), rel=2e-2)

    @pytest.mark.parametrize("h", [3e-3, 6e-3])
    def test_force_is_the_product_of_currents_and_slope(self, lower, upper, h):
        """F = I1 I2 dM/dz, to the little that leads and vias count for."""
        step = 2e-5
        m = [value(pair(lower, upper, h + s), "mutual_inductance") for s in (-step, step)]
        slope = (m[1] - m[0]) / (2 * step)
        currents = lower.value("current") * upper.value("current")
        assert value(pair(lower, upper, h), "force") == pytest.approx(currents * slope, rel=0.03)

    @pytest.mark.parametrize("distance", [20e-3, 200e-3])
    def test_far_apart_force_and_mutual_inductance_agree(self, lower, distance):
        """Of moments on one axis M = mu0 m1 m2 / 2 pi z^3 and F / (I1 I2) = 3 M / z; textbook."""
        found, current = pair(lower, lower, distance), lower.value("current")
        height = distance + lower.design.board.stackup.thickness
        expected = 2e-7 * (lower.value("moment") / current) ** 2 / height**3
        near = 3 * (lower.design.winding.outer_size / 2 / height) ** 2
        assert value(found, "mutual_inductance") == pytest.approx(expected, rel=0.01 + near)
        slope = -value(found, "force") / current**2
        assert slope * height / 3 == pytest.approx(value(found, "mutual_inductance"), rel=0.01 + near)

    def test_it_is_counted_alike_near_and_far(self, lower, upper):
        """On both sides of the distance from which the flux is counted along filaments."""
        edge = 0.25 * lower.design.winding.outer_size
        near, far = (value(pair(lower, upper, edge + s), "mutual_inductance") for s in (-1e-7, 1e-7))
        assert near == pytest.approx(far, rel=5e-3)

    def test_coupling_is_under_one_and_falls_with_the_distance(self, lower, upper):
        near, far = (value(pair(lower, upper, h), "coupling") for h in (0.2e-3, 10e-3))
        assert 0 < far < near < 1

    def test_currents_against_each_other_push_the_boards_apart(self, lower):
        turned = SMALL.replace("turns = 3", 'turns = 3\ndirection = "clockwise"')
        against = pair(lower, case_of(read_text(turned)), 3e-3)
        along = pair(lower, lower, 3e-3)
        assert value(against, "force") == pytest.approx(-value(along, "force"), rel=2e-2)
        assert value(against, "force") > 0
        assert "push each other apart" in against.cautions[0]
        assert "draw each other" in along.cautions[0]

    def test_the_band_is_that_of_the_currents(self, lower, upper):
        low, high = pair(lower, upper, 3e-3).figures["force"].band
        (a, b), (c, d) = (case.figure("current").band for case in (lower, upper))
        force, rated = (
            value(pair(lower, upper, 3e-3), "force"),
            lower.value("current") * upper.value("current"),
        )
        assert (low, high) == pytest.approx((force * b * d / rated, force * a * c / rated))

    def test_layers_in_parallel_carry_their_share(self, lower):
        """Neumann's integral along each strand, closed by its own link, weighted with its share."""
        asked = Asked(shape="round", connection="parallel")
        upper = case_of(read_text(text(asked) + "[drive]\ncurrent = 1.0\n"))
        assert len(upper.strands) == 3
        offset = np.array([0.0, 0.0, 5e-3 + upper.design.board.stackup.thickness])
        linked = [s.share * flux_linkage(lower.conductor, s.conductor, offset) for s in upper.strands]
        assert value(pair(lower, upper, 5e-3), "mutual_inductance") == pytest.approx(sum(linked), rel=5e-3)


class TestWeights:
    def test_laminate_and_copper(self, lower):
        """A plain board's laminate but for its holes, which are small."""
        stackup, area = lower.design.board.stackup, lower.art.outline.swept_area
        laminate = area * sum(stackup.dielectric) * stackup.laminate.density
        assert board_mass(lower) == pytest.approx(laminate + lower.value("copper_mass"), rel=0.03)
        assert board_mass(lower) < laminate + lower.value("copper_mass")

    def test_a_pocket_is_cut_out(self):
        whole = case_of(read_text(SMALL))
        cut = case_of(read_text(SMALL + '[pocket]\nsize = "5 mm"\n'))
        stackup = cut.design.board.stackup
        missing = 3.14159265 / 4 * 5e-3**2 * sum(stackup.dielectric) * stackup.laminate.density
        assert board_mass(whole) - board_mass(cut) == pytest.approx(missing, rel=0.02)

    def test_force_over_each_boards_weight(self, lower, upper):
        found = pair(lower, upper, 3e-3)
        rows = value(found, "boards")
        assert [row["name"] for row in rows] == ["small", "other"]
        for row, case in zip(rows, (lower, upper), strict=True):
            assert row["weight"] == pytest.approx(board_mass(case) * G)
            assert row["force_over_weight"] == pytest.approx(abs(value(found, "force")) / row["weight"])


class TestCautions:
    @pytest.mark.parametrize(
        ("share", "says"), [(0.01, "too little"), (0.5, "may shift"), (3.0, "fasten both boards")]
    )
    def test_what_the_force_moves(self, share, says):
        """The drive's currents are set so that the force is a share of the weight."""
        driven = SMALL + "[drive]\ncurrent = 1.0\n"
        one = case_of(read_text(driven))
        current = (share / value(pair(one, one, 2e-3), "boards")[0]["force_over_weight"]) ** 0.5
        both = case_of(read_text(driven.replace("1.0", f"{current:.6g}")))
        assert says in pair(both, both, 2e-3).cautions[0]

    def test_what_is_left_out(self, lower, upper):
        assert not any("left out" in caution for caution in pair(lower, upper, 3e-3).cautions)
        cored = SMALL + '[[core]]\nwidth = "10 mm"\nthickness = "1 mm"\n'
        pulling = SMALL + '[magnet]\ngrade = "N42"\ndiameter = "3 mm"\nthickness = "1 mm"\ngap = "1 mm"\n'
        found = pair(case_of(read_text(cored)), case_of(read_text(pulling)), 3e-3)
        assert any("cores, magnets are left out" in caution for caution in found.cautions)

    def test_very_near_boards(self, lower, upper):
        assert any("rough guide" in caution for caution in pair(lower, upper, 0.1e-3).cautions)
        assert not any("rough guide" in caution for caution in pair(lower, upper, 0.2e-3).cautions)

    def test_a_board_without_outline(self, lower):
        bare = case_of(read_text(SMALL + '[board]\noutline = "none"\n'))
        assert board_mass(bare) == bare.value("copper_mass")
        assert any("copper alone" in caution for caution in pair(bare, lower, 3e-3).cautions)


def test_a_design_without_room_is_refused():
    with pytest.raises(DesignError):
        case_of(read_text(SMALL.replace("[winding]", "[terminals]\ndistance = 0.5\n[winding]")))


def test_pairs_are_values(lower, upper):
    found = pair(lower, upper, 3e-3)
    assert found == replace(found)
    assert (found.lower, found.upper, found.standing.distance) == ("small", "other", 3e-3)
