"""Pull on a steel target over whole designs: its laws, the current that holds, the margin, cautions."""

import math

import pytest
from small_design import SMALL

from coilgen.design.reading import read_text
from coilgen.figures.force import holding
from coilgen.job import case_of, draw
from coilgen.result.caution import fault_told
from coilgen.result.figure import Case

TARGET = '[target]\nform = "disc"\ndiameter = "14 mm"\nthickness = "0.5 mm"\ngap = "0.5 mm"\n'
PLATE = '[[core]]\nwidth = "14 mm"\nthickness = "1 mm"\n'
FIGURES = ("pull_on_target", "pull_against_gap", "pull_against_current", "holding_current", "lift_margin")


def case(*more: str, design: str = SMALL) -> Case:
    asked = read_text(design + "".join(more))
    return case_of(asked, *draw(asked))


def drive(current: float) -> str:
    return f"[drive]\ncurrent = {current:.9g}\n"


def says(found: Case) -> str:
    return " ".join(c for name in FIGURES for c in getattr(found.figure(name), "cautions", ()))


@pytest.fixture(scope="module")
def bare() -> Case:
    return case(TARGET)


@pytest.fixture(scope="module")
def cored() -> Case:
    return case(TARGET, PLATE)


def test_nothing_without_a_target() -> None:
    found = case(PLATE)
    assert all(found.figure(name) is None for name in FIGURES)


class TestPull:
    def test_it_is_toward_the_coil_on_either_side(self, bare: Case) -> None:
        below = case(TARGET + 'place = "bottom"\n')
        assert bare.value("pull_on_target") > 0
        assert below.value("pull_on_target") == pytest.approx(bare.value("pull_on_target"), rel=0.05)

    def test_it_does_not_turn_with_the_current(self, bare: Case) -> None:
        turned = case(TARGET, design=SMALL.replace("turns = 3", 'turns = 3\ndirection = "clockwise"'))
        assert turned.value("pull_on_target") == pytest.approx(bare.value("pull_on_target"), rel=0.01)

    def test_a_core_behind_the_coil_multiplies_it(self, bare: Case, cored: Case) -> None:
        assert 1.5 < cored.value("pull_on_target") / bare.value("pull_on_target") < 10.0

    def test_the_band_holds_it(self, cored: Case) -> None:
        figure = cored.figure("pull_on_target")
        assert figure is not None
        assert figure.band is not None
        assert figure.band[0] < figure.value < figure.band[1]

    def test_half_beside_the_turns_it_is_drawn_less(self, bare: Case) -> None:
        aside = case(TARGET + "offset = [14, 0]\n")
        assert 0 < aside.value("pull_on_target") < 0.5 * bare.value("pull_on_target")

    def test_over_a_core_on_the_same_face(self, bare: Case) -> None:
        """A ring round the turns under the target: the gap counts from the ring's face."""
        ring = (
            '[[core]]\nplace = "top"\nform = "ring"\ndiameter = "16 mm"\nhole_diameter = "6 mm"\n'
            'thickness = "0.5 mm"\n'
        )
        found = case(TARGET, ring)
        assert found.design.stand.of(found.design.target).bottom == pytest.approx(1.05e-3)  # type: ignore[arg-type]  # given
        assert found.value("pull_on_target") > 0


class TestAgainstGap:
    def test_it_falls_with_the_gap_and_a_core_helps(self, cored: Case) -> None:
        rows = cored.value("pull_against_gap")
        assert [row["gap"] for row in rows] == pytest.approx([1e-4, 2.5e-4, 5e-4, 1e-3, 2e-3])
        for column in ("pull", "without_core"):
            values = [row[column] for row in rows]
            assert values == sorted(values, reverse=True)
        assert all(row["pull"] > row["without_core"] > 0 for row in rows)

    def test_at_the_given_gap_it_is_the_pull(self, cored: Case) -> None:
        row = next(r for r in cored.value("pull_against_gap") if r["gap"] == pytest.approx(5e-4))
        assert row["pull"] == pytest.approx(cored.value("pull_on_target"), rel=1e-6)

    def test_without_core_is_the_bare_coil(self, bare: Case, cored: Case) -> None:
        for row, alone in zip(cored.value("pull_against_gap"), bare.value("pull_against_gap"), strict=True):
            assert row["without_core"] == pytest.approx(alone["pull"])

    def test_without_cores_both_columns_agree(self, bare: Case) -> None:
        assert all(row["pull"] == row["without_core"] for row in bare.value("pull_against_gap"))

    def test_no_gap_under_the_least_of_a_design(self) -> None:
        near = case(TARGET.replace('gap = "0.5 mm"', 'gap = "0.03 mm"'))
        assert [row["gap"] for row in near.value("pull_against_gap")] == pytest.approx([3e-5, 6e-5, 1.2e-4])

    def test_below_the_board_the_gaps_go_down(self, bare: Case) -> None:
        rows = case(TARGET + 'place = "bottom"\n').value("pull_against_gap")
        pulls = [row["pull"] for row in rows]
        assert pulls == sorted(pulls, reverse=True)
        assert pulls[0] == pytest.approx(bare.value("pull_against_gap")[0]["pull"], rel=0.1)


class TestAgainstCurrent:
    def test_it_grows_with_the_square_of_a_weak_current(self, bare: Case) -> None:
        rows = case(TARGET, drive(0.1)).value("pull_against_current")
        for row in rows:
            expected = rows[0]["pull"] * (row["current"] / rows[0]["current"]) ** 2
            assert row["pull"] == pytest.approx(expected, rel=1e-2)

    @pytest.mark.slow
    def test_strong_currents_saturate_the_steel(self) -> None:
        rows = case(TARGET, drive(500.0)).value("pull_against_current")
        pulls = [row["pull"] for row in rows]
        assert pulls == sorted(pulls)
        assert pulls[-1] / pulls[0] < 0.8 * (rows[-1]["current"] / rows[0]["current"]) ** 2

    def test_at_the_drives_current_it_is_the_pull(self, cored: Case) -> None:
        current = cored.value("current")
        row = next(r for r in cored.value("pull_against_current") if r["current"] == pytest.approx(current))
        assert row["pull"] == pytest.approx(cored.value("pull_on_target"), rel=1e-4)


class TestHolding:
    def test_the_holding_current_just_holds(self, cored: Case) -> None:
        """Driven with it, the pull is the weight of what is held: on the finer grid too."""
        just = case(TARGET, PLATE, drive(cored.value("holding_current")))
        assert just.value("lift_margin") == pytest.approx(1.0, rel=0.02)

    def test_margin_is_pull_over_weight(self, bare: Case) -> None:
        weight = math.pi / 4 * 14e-3**2 * 0.5e-3 * 7850 * 9.80665
        assert bare.value("lift_margin") == pytest.approx(bare.value("pull_on_target") / weight, rel=1e-6)

    def test_a_given_mass_is_what_is_held(self, bare: Case) -> None:
        heavy = case(TARGET + 'mass = "40 g"\n')
        assert heavy.value("lift_margin") == pytest.approx(bare.value("pull_on_target") / (0.04 * 9.80665))
        assert heavy.value("holding_current") > bare.value("holding_current")


class TestCautions:
    """The mass is set so that the pull is a share of its weight."""

    @staticmethod
    def with_margin(bare: Case, margin: float) -> Case:
        grams = bare.value("pull_on_target") / 9.80665 / margin * 1e3
        # Driven by its current, which does not fall as the copper warms.
        heavy = case(TARGET + f'mass = "{grams:.9f} g"\n', drive(bare.value("current")))
        # The pull does not ask for the mass: what was solved for the bare coil's serves again.
        heavy.shared.update({key: bare.shared[key] for key in bare.shared if str(key).startswith("pull")})
        return heavy

    def test_what_does_not_hold(self, bare: Case) -> None:
        weak = self.with_margin(bare, 0.5)
        assert "does not hold the target's weight" in says(weak)
        assert fault_told([says(weak)]) == "it does not hold the target"
        assert says(weak).startswith("Warning: ")
        assert f"takes {weak.value('holding_current'):.1f} A" in says(weak)

    def test_what_holds_barely(self, bare: Case) -> None:
        assert "only 1.5 times the target's weight" in says(self.with_margin(bare, 1.5))

    def test_what_holds_only_while_the_coil_is_cold(self, bare: Case) -> None:
        """The current of the settled coil is 0.6 times the cold one's: the pull is then under the weight."""
        volts = "[drive]\nvoltage = 1.5\n"
        driven = case(TARGET, volts)
        assert driven.value("hot_current") < 0.75 * driven.value("current")
        grams = driven.value("pull_on_target") / 9.80665 / 1.6 * 1e3
        told = says(case(TARGET + f'mass = "{grams:.9f} g"\n', volts))
        assert told.startswith("Warning: The pull holds the target only while the coil is cold")
        assert fault_told([told]) == "warm, it does not hold the target"
        assert "only 1.6 times" not in told

    def test_what_holds_well(self, bare: Case) -> None:
        assert says(self.with_margin(bare, 3.0)) == ""

    @pytest.mark.parametrize(
        ("waveform", "told"), [("sine", "falls to nothing twice in a period"), ("square", "in its pauses")]
    )
    def test_a_current_that_does_not_flow_all_the_time(self, bare: Case, waveform: str, told: str) -> None:
        waved = case(TARGET, f'[drive]\ncurrent = 1\nwaveform = "{waveform}"\nfrequency = 50\n')
        assert told in says(waved)
        assert told not in says(bare)

    def test_a_target_far_off_is_neither_pulled_nor_pushed(self) -> None:
        assert "does not pull the target where it stands" in says(case(TARGET + "offset = [400, 0]\n"))

    def test_a_target_beside_the_turns(self) -> None:
        """A flat body is magnetised along the board there, and that part of the field grows with height."""
        aside = case(TARGET + "offset = [18, 0]\n")
        pull = aside.figure("pull_on_target")
        assert pull is not None
        assert pull.band is not None
        assert pull.band[0] < pull.value < min(0.0, pull.band[1])
        assert aside.figure("holding_current") is None
        assert "pushes the target off" in says(aside)
        assert fault_told([says(aside)]) == "it pushes the target off"

    def test_a_current_that_burns(self, bare: Case) -> None:
        """The current that holds is over what the coil carries for good."""
        heavy = self.with_margin(bare, 1e-3)
        assert heavy.value("holding_current") > heavy.value("largest_current")
        assert "that the coil carries for good" in says(heavy)

    def test_a_weight_beyond_every_current(self, bare: Case, monkeypatch: pytest.MonkeyPatch) -> None:
        from coilgen.physics.core import holding as solver

        monkeypatch.setattr(solver, "_LARGEST_CURRENT", 2 * bare.value("current"))
        heavy = self.with_margin(bare, 0.01)
        assert heavy.figure("holding_current") is None
        assert "no current holds it" in says(heavy)


def test_gravity_is_the_standard_one() -> None:
    """Resolution 2 of the 3rd General Conference on Weights and Lengths, 1901."""
    assert holding.GRAVITY == 9.80665


def test_the_gap_that_scatters_is_in_the_band() -> None:
    """0.1 mm nearer or farther: the band holds the pull there, told as coming from the gap."""
    told = case(TARGET, 'gap_tolerance = "0.1 mm"\n').spread("pull_on_target")
    near, far = (
        case(TARGET.replace('gap = "0.5 mm"', f'gap = "{gap} mm"')).value("pull_on_target") - told.value
        for gap in (0.4, 0.6)
    )
    assert told.shifts["gap of the target"] == pytest.approx((near, far), rel=0.15)
    assert told.band[0] < told.value + far < told.value < told.value + near < told.band[1]


@pytest.mark.slow
def test_what_two_windings_hold_only_while_they_are_cold() -> None:
    """What holds is told of the first one's, the other's in proportion; both fall as the board warms."""
    from board_designs import board, winding

    def two(grams: float) -> Case:
        target = {"width": 30, "depth": 12, "thickness": 1, "gap": 0.3, "mass": f"{grams:.9g} g"}
        pair = (winding("a", centre=[-9, 0]), winding("b", centre=[9, 0]))
        design = board(*pair, drive={"voltage": 1.2}, target=target)
        return case_of(design, *draw(design))

    found = two(two(1e-3).value("pull_on_target") / 9.80665 / 1.1 * 1e3)
    told = found.figure("holding_current")
    assert (
        told is not None
        and told.says == "least current of a, the others' in proportion, that holds the target"
    )
    settled = found.value("winding_temperatures")[0]["current"]
    assert settled < told.value < found.value("current")
    assert "only while the coil is cold: holding takes" in says(found)
