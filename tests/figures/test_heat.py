"""The coil's heat on whole designs: laws, limits that lead back to themselves, what tape and steel do."""

import math

import numpy as np
import pytest
from designs import asked_designs
from designs import text as design_text
from heat_designs import FLEX, case, case_of, plate, temperature
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from coilgen.catalogue import rows, templates
from coilgen.result.caution import fault_told

CONTACTS = tuple(rows("contacts"))
SLOW = {"voltage": 5.0, "waveform": "square", "frequency": 0.02, "duty": 0.2}
CHARS = 310
"""degC, at which FR-4 chars: value from memory."""
FAST = {**SLOW, "frequency": 1e4}


@pytest.mark.parametrize("name", templates())
def test_every_template_settles(name):
    own = case_of(templates()[name])
    found = own.figure("temperature")
    assert own.design.drive.ambient < found.band[0] <= found.value <= found.band[1] < 300
    if not own.windings:
        assert own.value("thermal_time_constant") > 0


@pytest.mark.slow
@settings(max_examples=15, deadline=None)
@given(asked=asked_designs(), voltage=st.floats(0.01, 300.0))
def test_every_winding_settles_or_says_that_it_does_not(asked, voltage):
    own = case_of(f"{design_text(asked)}[drive]\nvoltage = {voltage!r}\n")
    found, told = own.figure("temperature"), own.figure("temperature_limits").cautions
    unsteady = any("No steady state" in caution for caution in told)
    assert (found is None) == unsteady
    if found is not None:
        low, high = found.band or (CHARS, found.value)  # no board outlasts what is told without a band
        assert 25 < low <= found.value <= high <= 1084.62
    limits = own.value("temperature_limits")
    assert limits[0]["largest_current"] < limits[0]["pulse_current"]
    if max(found.value if found else 1e4, 25) < limits[0]["temperature"]:
        assert voltage < limits[0]["largest_voltage"]


class TestSteady:
    def test_voltage_divides_into_current_and_hot_resistance(self):
        own = case()
        assert own.value("hot_current") * own.value("hot_resistance") == pytest.approx(2.0)
        assert own.value("hot_power") == pytest.approx(2.0 * own.value("hot_current"))
        current, power = (own.figure(f"hot_{name}").band for name in ("current", "power"))
        assert power == pytest.approx((2.0 * current[0], 2.0 * current[1]))
        assert own.value("hot_resistance") > own.value("resistance_20c")

    def test_resistance_follows_the_copper(self):
        own = case()
        mean = own.value("body_temperatures")[1]["temperature"]
        grown = 1 + 0.00393 * (mean - 20)
        assert own.value("hot_resistance") / own.value("resistance_20c") == pytest.approx(grown, rel=1e-9)

    def test_a_given_current_stays(self):
        own = case(drive={"voltage": None, "current": 0.2})
        assert own.value("hot_current") == pytest.approx(0.2)
        assert own.value("hot_power") == pytest.approx(0.04 * own.value("hot_resistance"))
        resistance, power = (own.figure(f"hot_{name}").band for name in ("resistance", "power"))
        assert power == pytest.approx((0.04 * resistance[0], 0.04 * resistance[1]))

    def test_hottest_copper_is_the_hottest_body(self):
        table = case([plate()]).value("body_temperatures")
        assert [row["body"] for row in table] == [
            "hottest copper",
            "copper, mean",
            "board",
            "core on the bottom",
        ]
        each = [row["temperature"] for row in table]
        assert each == sorted(each, reverse=True)
        assert all(row["low"] < row["temperature"] < row["high"] for row in table)

    def test_fast_switching_heats_as_the_mean_power(self):
        """But for what the current lacks as it rises."""
        direct = temperature(drive={"voltage": 5 * math.sqrt(0.2)})
        assert 0 < direct - temperature(drive={**FAST, "frequency": 1e3}) < 0.01 * direct

    def test_a_slow_sine_heats_as_its_root_mean_square(self):
        slow = temperature(drive={"waveform": "sine", "frequency": 50})
        assert slow == pytest.approx(temperature(), abs=1e-3)

    def test_a_fast_sine_meets_the_reactance(self):
        own = case(drive={"waveform": "sine", "frequency": 2e5})
        reactance = 2 * math.pi * 2e5 * own.value("inductance")
        (row,) = (row for row in own.value("impedance") if row["frequency"] == 2e5)
        eddies = row["resistance"] - own.value("resistance_20c")
        across = math.hypot(own.value("hot_resistance") + eddies, reactance)
        assert reactance > own.value("hot_resistance")
        assert own.value("hot_current") == pytest.approx(2.0 / across)
        alike = own.value("hot_current") * math.sqrt(1 + eddies / own.value("hot_resistance"))
        direct = temperature(drive={"voltage": None, "current": alike})
        assert own.value("temperature") == pytest.approx(direct, abs=1e-4)
        assert own.value("temperature_against_time")[-1]["temperature"] == pytest.approx(direct, abs=1)


def rising(values):
    return all(np.diff(values) > 0.01)


class TestMoreOfEach:
    def test_voltage_current_duty_and_ambient_warm(self):
        assert rising([temperature(drive={"voltage": v}) for v in (1, 2, 3)])
        assert rising([temperature(drive={"voltage": None, "current": i}) for i in (0.1, 0.2, 0.3)])
        assert rising([temperature(drive={**FAST, "duty": duty}) for duty in (0.1, 0.3, 0.9)])
        assert rising([temperature(drive={"ambient": t}) for t in (-20, 25, 60)])

    def test_emissivity_wind_and_base_plate_cool(self):
        assert rising([-temperature(mounting={"emissivity": e}) for e in (0.1, 0.5, 0.9)])
        assert rising([-temperature(mounting={"forced_convection": h}) for h in (10, 30, 100)])
        bases = [{"width": w, "thickness": 2} for w in (10, 25, 60)]
        assert rising([-temperature(**{"mounting.base_plate": base}) for base in bases])

    def test_worse_joints_keep_the_coil_warm(self):
        assert rising([temperature([plate()], mounting={"contact": contact}) for contact in CONTACTS])

    def test_a_core_in_the_pocket_cools(self):
        pocket = {"size": 3}
        rod = {"place": "pocket", "diameter": 3, "thickness": 8}
        assert temperature([rod], pocket=pocket) < temperature(pocket=pocket) - 0.1

    def test_a_board_beyond_the_reach_of_the_heat_changes_nothing(self):
        each = [temperature(board={"size": size}) for size in (15.5, 18, 22, 30, 60, 150)]
        assert all(np.diff(each) < 1e-9)
        assert each[-1] == pytest.approx(each[-2], abs=1e-9)
        assert each[-1] < each[0] - 2
        assert "one fin length" in case(board={"size": 150}).figure("temperature").model


class TestWarming:
    def test_from_the_air_to_the_steady_state(self):
        own = case()
        table = own.value("temperature_against_time")
        each = [row["temperature"] for row in table]
        assert 40 <= len(table) <= 80
        assert each[0] == 25.0
        assert all(np.diff(each) > 0)
        whole = own.value("temperature") - 25
        assert (each[-1] - 25) / whole == pytest.approx(1 - math.exp(-5), abs=2e-3)

    def test_time_constant_lies_on_the_curve(self):
        # The hottest copper leads the mean of the winding by little on a thick board.
        own = case()
        table = own.value("temperature_against_time")
        at = np.interp(
            own.value("thermal_time_constant"),
            [row["time"] for row in table],
            [row["temperature"] for row in table],
        )
        share = (at - 25) / (own.value("temperature") - 25)
        assert share == pytest.approx(1 - math.exp(-1), abs=0.03)

    def test_a_slight_warming_has_the_same_time_constant(self):
        # Without radiation and in a wind the model is linear but for the copper's resistance.
        air = {"emissivity": 0.0, "forced_convection": 20}
        slight, more = (
            case(drive={"voltage": None, "current": i}, mounting=air).value("thermal_time_constant")
            for i in (1e-4, 0.05)
        )
        assert slight == pytest.approx(more, rel=0.02)

    def test_a_plate_slows(self):
        bare, laden = (case(core).value("thermal_time_constant") for core in ([], [plate()]))
        assert laden > 2 * bare

    def test_slow_periods_swing_about_their_mean(self):
        own = case(drive=SLOW)
        assert own.value("mean_temperature") + 20 < own.value("temperature")
        assert own.value("temperature") < temperature(drive={"voltage": 5.0})
        fast = case(drive=FAST)
        assert fast.value("mean_temperature") == fast.value("temperature") < own.value("temperature")
        assert case().figure("mean_temperature") is None

    def test_a_long_pulse_is_steady(self):
        own = case(drive={"pulse": 1e5})
        assert own.value("pulse_temperature") == pytest.approx(own.value("temperature"), abs=0.05)


class TestOneTemperature:
    """2 s on, 8 s off: whatever tells of the temperature tells the peak of the settled period."""

    own = case(drive={"voltage": 5.0, "waveform": "square", "frequency": 0.1, "duty": 0.2}, board=FLEX)

    def test_hot_figures_are_those_of_the_peak(self):
        found, bodies = self.own.figure("temperature"), self.own.value("body_temperatures")
        assert found.value > self.own.value("mean_temperature") + 100
        assert found.band[0] < found.value < found.band[1]
        assert "at the end of each on time" in found.model
        assert bodies[0]["temperature"] == found.value
        assert (bodies[0]["low"], bodies[0]["high"]) == found.band
        grown = 1 + 0.00393 * (bodies[1]["temperature"] - 20)
        assert self.own.value("hot_resistance") / self.own.value("resistance_20c") == pytest.approx(grown)
        assert self.own.value("hot_current") * self.own.value("hot_resistance") == pytest.approx(5.0)

    def test_the_curve_is_a_sawtooth_up_to_it(self):
        rows = self.own.value("temperature_against_time")
        each = [row["temperature"] for row in rows]
        turns = np.diff(np.sign(np.diff(each)))
        assert np.sum(turns < 0) >= 3
        assert max(each) == pytest.approx(self.own.value("temperature"), abs=0.5)
        assert len(rows) < 200

    def test_limits_are_reached_in_it(self):
        peak = self.own.value("temperature")
        table = self.own.value("temperature_limits")
        assert [row["reached"] for row in table] == [
            "yes" if peak > row["temperature"] else "no" for row in table
        ]
        pulse = self.own.value("pulse_limit")
        assert table[0]["time_to_reach"] == pytest.approx(pulse, rel=0.01)

    def test_cautions_tell_the_same(self):
        told = self.own.figure("temperature_limits").cautions[0]
        assert f"the copper reaches {self.own.value('temperature'):.0f} °C" in told

    @pytest.mark.slow
    def test_a_slow_sine_peaks_over_its_root_mean_square(self):
        slow = case(drive={"waveform": "sine", "frequency": 0.02}, board=FLEX)
        direct = temperature(board=FLEX)
        assert (
            direct + 20 < slow.value("temperature") < temperature(drive={"voltage": 2.0 * 2**0.5}, board=FLEX)
        )
        assert slow.value("mean_temperature") == pytest.approx(direct, rel=0.1)
        assert "half period" in slow.figure("temperature").model
        assert slow.value("hot_current") == pytest.approx(2.0 / slow.value("hot_resistance"), rel=1e-3)
        assert slow.value("hot_power") == pytest.approx(
            slow.value("hot_current") ** 2 * slow.value("hot_resistance"), rel=1e-3
        )
        assert slow.figure("hot_current").model.startswith("root mean square")
        assert "K hotter than the mean" in slow.figure("largest_current").model

    def test_a_pulse_stays_apart_and_has_its_band(self):
        found = self.own.figure("pulse_temperature")
        assert found.band[0] < found.value < found.band[1]
        for name in ("pulse_limit", "largest_pulse_current"):
            low, high = self.own.figure(name).band
            assert low < self.own.value(name) < high


class TestLimits:
    """A drive at its limit leads to the limit's temperature."""

    @pytest.mark.parametrize("board", [{}, FLEX], ids=["rigid", "flex"])
    def test_largest_current_and_voltage(self, board):
        own = case(board=board)
        limit = 105 if board else 130
        current, voltage = own.value("largest_current"), own.value("largest_voltage")
        drive = {"voltage": None, "current": current}
        assert temperature(board=board, drive=drive) == pytest.approx(limit, abs=1e-3)
        assert temperature(board=board, drive={"voltage": voltage}) == pytest.approx(limit, abs=1e-3)
        low, high = own.figure("largest_current").band
        assert low < current < high

    def test_pulse(self):
        hard = {"voltage": 8.0}
        pulse = case(drive=hard).value("pulse_limit")
        assert case(drive={**hard, "pulse": pulse}).value("pulse_temperature") == pytest.approx(130, abs=0.2)
        assert case(drive={"voltage": 1.5}).figure("pulse_limit") is None
        current = case().value("largest_pulse_current")
        drive = {"voltage": None, "current": current}
        assert case(drive=drive).value("pulse_temperature") == pytest.approx(130, abs=0.2)

    @pytest.mark.slow
    def test_duty_of_fast_and_slow_switching(self):
        """Fast: the current does not settle within a pulse, which may take longer than by the settled one."""
        settled, fast = (case(drive=drive).value("duty_limit") for drive in ({"voltage": 5.0}, FAST))
        assert 0 < settled < fast < 1
        assert temperature(drive={**FAST, "duty": fast}) == pytest.approx(130, abs=0.01)
        slow = case(drive=SLOW).value("duty_limit")
        assert slow < fast
        assert temperature(drive={**SLOW, "duty": slow}) == pytest.approx(130, abs=0.5)
        rows = case(drive=SLOW).value("temperature_limits")
        assert [row["duty"] for row in rows] == [slow, None, None]
        assert case(drive={"voltage": 0.5}).value("duty_limit") == 1
        assert case(drive={"waveform": "sine", "frequency": 50}).figure("duty_limit") is None

    def test_rows_are_those_of_the_board(self):
        rigid, flex = (case(board=board).value("temperature_limits") for board in ({}, FLEX))
        assert [row["limit"] for row in rigid] == ["laminate", "leaded-solder", "lead-free-solder"]
        assert [row["limit"] for row in flex] == ["flex-adhesive", "leaded-solder", "lead-free-solder"]
        for column in ("temperature", "largest_current", "largest_voltage", "pulse_current"):
            assert rising([row[column] * 1e3 for row in rigid])

    def test_ones_own_limit_goes_first_where_it_is_lower(self):
        own = case(mounting={"limit_temperature": 60})
        assert own.value("temperature_limits")[0]["limit"] == "mounting.limit_temperature"
        drive = {"voltage": own.value("largest_voltage")}
        assert temperature(drive=drive) == pytest.approx(60, abs=1e-3)
        high = case(mounting={"limit_temperature": 200}).value("largest_voltage")
        assert high == pytest.approx(case().value("largest_voltage"))

    def test_reached_and_when(self):
        own = case(drive={"voltage": 2.5})
        first, *_, last = own.value("temperature_limits")
        assert (first["reached"], last["reached"], last["time_to_reach"]) == ("yes", "no", None)
        table = own.value("temperature_against_time")
        at = np.interp(
            first["time_to_reach"], [row["time"] for row in table], [row["temperature"] for row in table]
        )
        assert at == pytest.approx(130, abs=0.5)

    def test_in_air_as_hot_as_the_limit_nothing_may_flow(self):
        own = case(drive={"ambient": 140})
        row = own.value("temperature_limits")[0]
        assert (row["largest_current"], row["largest_voltage"], row["pulse_current"], row["duty"]) == (
            0,
            0,
            0,
            0,
        )
        for name in (
            "largest_current",
            "largest_voltage",
            "pulse_limit",
            "largest_pulse_current",
            "duty_limit",
        ):
            assert own.value(name) == 0


TOO_MUCH = {"voltage": None, "current": 3.0}
HOT_COIL = {"winding": {"turns": 26, "outer_size": 19}, "board": {**FLEX, "outline": "none", "size": None}}


class TestNoSteadyState:
    def test_what_settles_is_absent_and_the_caution_tells_where_it_begins(self):
        own = case(drive=TOO_MUCH)
        for name in ("temperature", "hot_resistance", "hot_current", "hot_power", "body_temperatures"):
            assert own.figure(name) is None
        assert own.figure("thermal_time_constant") is None
        told = own.figure("temperature_limits").cautions[0]
        assert told.startswith("Warning: No steady state at 3.00 A")
        begins = float(told.partition("begins at ")[2].partition(" A")[0])
        assert temperature(drive={**TOO_MUCH, "current": begins * 0.98}) > 900
        assert case(drive={**TOO_MUCH, "current": begins * 1.02}).figure("temperature") is None

    def test_where_the_board_has_decomposed_no_band_is_told(self):
        """Below FR-4 chars at the hot end alone, above in any case."""
        whole, charred = (case(drive={"voltage": voltage}).figure("temperature") for voltage in (4.5, 8.0))
        assert whole.value < 310 < charred.value
        assert whole.band[1] > whole.value and charred.band is None
        assert "decomposed" in charred.model and "the band is" not in charred.model
        told = case(drive={"voltage": 8.0}).figure("temperature_limits").cautions
        assert any("would reach" in each and "chars" in each for each in told)
        bodies = case(drive={"voltage": 8.0}).value("body_temperatures")
        assert bodies[0]["low"] is None

    def test_the_curve_runs_to_the_melting_point(self):
        table = case(drive=TOO_MUCH).value("temperature_against_time")
        assert table[-1]["temperature"] == pytest.approx(1084.62, abs=5)
        assert table[-1]["time"] < 60

    def test_a_hot_end_without_one(self):
        told = case(drive=TOO_MUCH).figure("temperature_limits").cautions[0]
        begins = float(told.partition("begins at ")[2].partition(" A")[0])
        own = case(drive={**TOO_MUCH, "current": begins * 0.997})
        assert own.figure("temperature").band is None
        assert "There may be no steady state" in own.figure("temperature_limits").cautions[0]
        assert (
            fault_told(own.figure("temperature_limits").cautions) == "danger of fire"
        )  # expected, past paper

    def test_a_voltage_too_high(self):
        told = case(drive={"voltage": 100.0}).figure("temperature_limits").cautions[0]
        assert "No steady state at 100 V" in told
        assert " V, at the latest" in told


class TestTapeAndSteel:
    """Common practice, no source: what mounting tape and a steel plate do to a hot bare coil.

    A bare coil that a voltage drives to about 275 degC drops by about a third in degC when a plate of four to
    five times its area is stuck on with mounting tape, and to about 150 degC when the tape is taken away.
    Geometry of our own: a flexible coil of 19 mm, a plate of 2 mm and five times its area; the mean of the
    copper, as its resistance tells it.
    """

    def on_steel(self, contact):
        steel = plate(width=19 * math.sqrt(5 * math.pi / 4), contact=contact)
        return self.mean([steel], voltage=self.voltage())

    def voltage(self):
        return brentq(lambda v: self.mean(voltage=v)["temperature"] - 275, 3.0, 15.0, xtol=1e-3)

    def mean(self, core=(), **drive):
        return case(core, **HOT_COIL, drive=drive).value("body_temperatures")[1]

    def test_mounting_tape_takes_a_third_off(self):
        found = self.on_steel("hand-taped")
        assert found["temperature"] == pytest.approx(275 * 2 / 3, rel=0.1)
        assert found["low"] < 275 * 2 / 3 < found["high"]

    def test_without_the_tape_it_settles_about_150(self):
        found = self.on_steel("solid")
        assert found["temperature"] == pytest.approx(150, rel=0.1)
        assert found["low"] < 150 < found["high"]
