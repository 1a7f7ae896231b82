"""Figures of boards of several windings: inductance_matrix, coupling, winding_resistances, winding_currents,
capacitance_between, force_on_windings, winding_temperatures, power, temperature and fields."""

from functools import cache

import numpy as np
import pytest
from board_designs import board, ring, winding

from coilgen import job
from coilgen.design.reading import read_tables

MU0 = 4e-7 * np.pi
BOARD = {"stackup": "rigid-4-layer-1.6mm"}


@cache
def pair(distance=18.0, current=0.1):
    windings = (winding("a", centre=[-distance / 2, 0]), winding("b", centre=[distance / 2, 0]))
    return job.predict(board(*windings, drive={"current": current}))


def circles_mutual(radius, other, height):
    """Of two coaxial circles, H: J. C. Maxwell, Treatise, section 701; Rosa and Grover 1912, formula 1."""
    from scipy.special import ellipe, ellipk

    m = 4 * radius * other / ((radius + other) ** 2 + height**2)
    k = np.sqrt(m)
    return MU0 * np.sqrt(radius * other) * ((2 / k - k) * ellipk(m) - 2 / k * ellipe(m))


@pytest.mark.parametrize("other", [3.0, 5.0, 7.0])
def test_single_turns_on_one_axis_are_circles(other):
    """The leads add a little: turns of thin trace with their terminals far narrower than the turn."""
    near = {"terminals": {"kind": "plated-hole", "pad": 0.6, "drill": 0.3, "pitch": 0.65}}
    design = board(
        ring("a", 6.0, copper_layers=[1], **near),
        ring("b", other, copper_layers=[4], rotation=180, **near),
        board=BOARD,
        rules={"shop": "rigid-standard"},
    )
    case = job.case_of(design, *job.draw(design))
    height = design.board.stackup.height(1) - design.board.stackup.height(4)
    found = case.value("inductance_matrix")[0][1]
    assert found == pytest.approx(circles_mutual(6e-3, other * 1e-3, height), rel=0.05)


def test_the_matrix_is_symmetric_positive_and_each_ones_own_on_its_diagonal():
    result = pair()
    matrix = np.array(result.figures["inductance_matrix"].value)
    assert matrix == pytest.approx(matrix.T, rel=1e-12)
    assert np.linalg.eigvalsh(matrix).min() > 0
    own = [each.figures["inductance"].value for each in result.windings]
    assert np.diag(matrix) == pytest.approx(own, rel=1e-12)
    assert np.abs(np.array(result.figures["coupling"].value)).max() == pytest.approx(1.0)


def test_one_along_the_other_is_the_other_along_the_one():
    from coilgen.figures.several._linkage import path_of
    from coilgen.physics.inductance.facing import linkage_apart

    design = board(
        winding("a", copper_layers=[1, 2]), winding("b", copper_layers=[3, 4], centre=[2, 1], outer_size=14)
    )
    case = job.case_of(design, *job.draw(design))
    one, other = (path_of(case, each) for each in case.windings)
    assert linkage_apart(one, other) == pytest.approx(linkage_apart(other, one), rel=2e-4)


def energy_between(one, other, height, side=96e-3, points=192):
    """Energy that the fields of two amperes have in common, J, by Bz of both on a plane between the windings.

    Of the whole space's integral of B1 B2 / mu0 each half is, as one field has a potential there, an integral
    over the plane, and for a wave of number k, which dies away as exp(-k z), B1z B2z / (mu0 k).
    The plane repeats after `side`: its neighbours add under one per cent.
    """
    from coilgen.physics.field.biot_savart import path_flux_density

    step = side / points
    along = (np.arange(points) - points / 2) * step
    x, y = np.meshgrid(along, along)
    plane = np.column_stack([x.ravel(), y.ravel(), np.full(x.size, height)])
    waves = [
        np.fft.fft2(path_flux_density(path, plane)[:, 2].reshape(x.shape)) * step**2 for path in (one, other)
    ]
    number = 2 * np.pi * np.fft.fftfreq(points, step)
    k = np.hypot(*np.meshgrid(number, number))
    k[0, 0] = np.inf
    return float(2 / MU0 * (waves[0].conj() * waves[1] / k).real.sum() / side**2)


def test_energy_is_that_of_the_fields():
    """i M i / 2 with both currents one way less that with them against each other, over two, is M12."""
    from coilgen.figures.several._linkage import path_of

    design = board(
        winding("a", copper_layers=[1, 2], turns=3),
        winding("b", copper_layers=[3, 4], turns=3, centre=[5, 3]),
        board=BOARD,
    )
    case = job.case_of(design, *job.draw(design))
    matrix = np.array(case.value("inductance_matrix"))
    with_, against = (0.5 * i @ matrix @ i for i in (np.array([1, 1]), np.array([1, -1])))
    one, other = (path_of(case, each) for each in case.windings)
    middle = (design.board.stackup.height(1) + design.board.stackup.height(4)) / 2
    assert (with_ - against) / 2 == pytest.approx(energy_between(one, other, middle), rel=0.01)


def test_circles_of_these_tests_are_the_published_ones():
    """E. B. Rosa, F. W. Grover, Bulletin of the Bureau of Standards 8(1), 1912; NIST DLMF 19.34.5."""
    assert circles_mutual(0.25, 0.20, 0.10) == pytest.approx(248.7874e-9, rel=1e-6)


def test_far_pairs_are_dipoles():
    """M = -mu0 A A / (4 pi d^3) for two areas side by side in a plane; D. J. Griffiths, 5.4.3."""
    result = pair(120.0)
    areas = [each.figures["turn_area"].value for each in result.windings]
    expected = -MU0 * areas[0] * areas[1] / (4 * np.pi * 0.12**3)
    assert result.figures["inductance_matrix"].value[0][1] == pytest.approx(expected, rel=0.02)


def test_opposite_senses_turn_the_sign():
    windings = (winding("a", centre=[-9, 0]), winding("b", centre=[9, 0], direction="clockwise"))
    design = board(*windings)
    case = job.case_of(design, *job.draw(design))
    assert case.value("inductance_matrix")[0][1] == pytest.approx(
        -pair().figures["inductance_matrix"].value[0][1], rel=2e-3
    )


def test_forces_between_windings_cancel():
    rows = pair().figures["force_on_windings"].value
    total = np.array([[row[axis] for axis in "xyz"] for row in rows])
    assert np.abs(total.sum(axis=0)).max() < 2e-3 * np.abs(total).max()
    assert rows[0]["x"] * rows[1]["x"] < 0


def test_forces_between_stacked_windings_cancel():
    """One over the other, out of centre: pulled together along z, and towards one axis."""
    design = board(
        winding("a", copper_layers=[1, 2]),
        winding("b", copper_layers=[3, 4], centre=[2, 1], outer_size=14),
        board=BOARD,
    )
    case = job.case_of(design, *job.draw(design))
    forces = np.array([[row[axis] for axis in "xyz"] for row in case.value("force_on_windings")])
    assert np.abs(forces.sum(axis=0)).max() < 5e-3 * np.abs(forces).max()
    assert forces[0, 2] < 0 < forces[1, 2]


def test_force_is_the_change_of_the_mutual_inductance():
    """F = i i dM/dx (W. K. H. Panofsky, M. Phillips, 10-5), by two places half a millimetre apart."""
    less, more = (pair(18.0 + step).figures["inductance_matrix"].value[0][1] for step in (-0.25, 0.25))
    force = pair().figures["force_on_windings"].value[1]["x"]
    assert force == pytest.approx(0.1**2 * (more - less) / 0.5e-3, rel=0.02)


def test_fields_are_sums():
    both = pair().figures["flux_density_over_board"].value
    design = board(winding("a", centre=[-9, 0]), winding("b", centre=[9, 0]))
    parts = []
    for on, off in (("a", "b"), ("b", "a")):
        windings = [
            {**winding(name, centre=[at, 0]), "drive": {"current": 0.1 if name == on else 1e-6}}
            for name, at in (("a", -9), ("b", 9))
        ]
        alone = board(*windings)
        case = job.case_of(alone, *job.draw(alone))
        parts.append(np.array([row["flux_density"] for row in case.value("flux_density_over_board")]))
        assert off != on
    whole = np.array([row["flux_density"] for row in both])
    assert np.abs(sum(parts) - whole).max() < 2e-4 * np.abs(whole).max()
    assert design.windings[0].name == "a"


def test_field_against_an_independent_library():
    """Over the middle between two windings, by magpylib's polylines."""
    magpy = pytest.importorskip("magpylib")
    result = pair()
    height = 1e-3
    total = np.zeros(3)
    for each in result.windings:
        points = [
            (
                segment.at(k / 24).real,
                segment.at(k / 24).imag,
                result.design.board.stackup.height(trace.layer),
            )
            for trace in each.coil.traces
            for segment in trace.path.segments
            for k in range(25)
        ]
        closed = magpy.current.Polyline(current=0.1, vertices=[*points, points[0]])
        total += closed.getB((0, 0, height))
    row = next(
        row
        for row in result.figures["flux_density"].value
        if row["side"] == "top" and row["height"] == height
    )
    assert row["flux_density"] == pytest.approx(total[2], rel=5e-3)


def test_power_and_currents_add_up():
    result = pair()
    rows = result.figures["winding_currents"].value
    assert [row["winding"] for row in rows] == ["a", "b"]
    assert result.figures["power"].value == pytest.approx(sum(row["power"] for row in rows))
    own = [each.figures["resistance_20c"].value for each in result.windings]
    assert result.figures["winding_resistances"].value == own


@pytest.mark.slow
def test_neighbours_heat_each_other_and_an_idle_one_is_warmed():
    result = pair(14.0, 0.8)
    both = result.figures["winding_temperatures"].value
    assert both[0]["temperature"] == pytest.approx(both[1]["temperature"], abs=0.2)
    idle = board(
        winding("a", centre=[-7, 0], drive={"current": 0.8}),
        winding("b", centre=[7, 0], drive={"current": 1e-4}),
    )
    case = job.case_of(idle, *job.draw(idle))
    hot, warm = case.value("winding_temperatures")
    assert 25.5 < warm["temperature"] < hot["temperature"] < both[0]["temperature"]
    assert result.figures["temperature"].value == pytest.approx(max(row["temperature"] for row in both))


def test_one_winding_at_the_centre_is_as_hot_as_a_design_of_one():
    """A plate on a grid against rings of heat, within 2 % of the rise."""
    several = board(winding("a"), board={"outline": "round", "size": 22}, drive={"current": 1.0})
    one = several.windings[0].design.changed({"board.outline": "round", "board.size": 22})
    rise, other = (
        job.case_of(design, *job.draw(design)).value("temperature") - 25 for design in (several, one)
    )
    assert rise == pytest.approx(other, rel=0.02)


@pytest.mark.slow
def test_bands_of_large_boards_are_those_of_the_fine_grid():
    from coilgen.figures.several import _warm

    coils = {"shape": "round", "layers": 2, "turns": 10, "inner_size": 6}
    array = {"arrangement": "ring", "count": 9, "radius": 26, "phases": 3}
    made = {**coils, "trace_width": 0.2, "trace_spacing": 0.2}
    design = read_tables({"name": "several", "winding": made, "array": array, "drive": {"current": 0.4}})
    case = job.case_of(design, *job.draw(design))
    assert _warm.coarse_enough(case)

    def rise(**made):
        return [_warm.state(case, _warm.Made(coarse=each, **made)).peak for each in (False, True)]

    usual, warm, more = rise(), rise(air="hot"), rise(copper=(1.1,) * 9)
    for ends in (warm, more):
        fine, coarse = (end - now for end, now in zip(ends, usual, strict=True))
        assert fine > 1.0
        assert coarse == pytest.approx(fine, rel=0.02)


def test_a_board_that_burns_out_says_so():
    design = board(winding("a", centre=[-9, 0]), winding("b", centre=[9, 0]), drive={"current": 20})
    result = job.predict(design)
    assert "temperature" not in result.figures
    assert any("burns out" in caution for caution in result.cautions)


def test_capacitance_is_that_of_the_plates_where_windings_lie_over_each_other():
    """Wide turns close together over the same are nearly two rings (handbook: eps A / d)."""
    wide = {"trace_width": 0.9, "trace_spacing": 0.15, "turns": 3, "outer_size": 14}
    design = board(
        winding("a", copper_layers=[1], **wide),
        winding("b", copper_layers=[2], rotation=180, **wide),
        board={"stackup": "rigid-4-layer-1.6mm"},
    )
    case = job.case_of(design, *job.draw(design))
    (row,) = case.value("capacitance_between")
    stackup = design.board.stackup
    area = np.pi * (7e-3**2 - 4e-3**2)
    expected = 8.854e-12 * stackup.permittivity[0] * area / stackup.dielectric[0]
    assert row["capacitance"] == pytest.approx(expected, rel=0.3)
    assert row["low"] < row["capacitance"] < row["high"]


def test_figures_of_one_winding_are_not_taken_for_the_boards():
    design = board(winding("a", centre=[-9, 0]), winding("b", centre=[9, 0]))
    case = job.case_of(design, *job.draw(design))
    assert case.figure("inductance") is None
    assert case.figure("self_resonance") is None
    assert case.value("current") == 0.1


def test_a_winding_by_itself_tells_no_temperature_and_what_it_needs_cold():
    """Alone and on no board it would get as warm as it never does."""
    result = pair(14.0, 0.8)
    for each, row in zip(result.windings, result.figures["winding_currents"].value, strict=True):
        assert not {"temperature", "hot_resistance", "hot_current"} & set(each.figures)
        assert row["voltage"] == pytest.approx(row["current"] * each.figures["resistance_20c"].value)
        assert row["voltage"] * row["current"] == pytest.approx(row["power"], rel=1e-9)


def test_a_transformer_is_told_with_the_voltage_that_it_makes():
    """As many turns on half the flux: half the voltage of the drive; many more turns than it: a danger."""
    square = {"voltage": 24, "waveform": "square", "frequency": 1e6}
    beneath = winding("sec", copper_layers=[3, 4], terminals={"side": "north"})
    driven = winding("pri", copper_layers=[1, 2], drive=square)
    told = " ".join(_coupled(driven, beneath))
    assert "pri and sec are a transformer: about 13 V stand across sec" in told
    assert "Warning" not in told
    few = winding("pri", copper_layers=[1, 2], turns=1, outer_size=10, drive=square)
    assert _coupled(few, beneath)[0].startswith("Warning: pri and sec are a transformer")
    assert _coupled(driven, winding("far", copper_layers=[3, 4], centre=[30, 0])) == ()


def _coupled(*windings):
    design = board(*windings, board=BOARD)
    return job.case_of(design, *job.draw(design)).figure("coupling").cautions


def at_voltage(volts, **tolerance):
    """The first winding's current is held, the second's, which makes most of the field, follows a voltage."""
    given = board(
        winding("a", centre=[-9, 0], drive={"current": 0.05}),
        winding("b", centre=[9, 0], drive={"voltage": volts}),
        tolerance=tolerance,
    )
    return job.case_of(given, *job.draw(given))


def test_fields_have_the_band_of_the_winding_that_varies():
    fixed = dict.fromkeys(("trace_width", "copper_thickness", "dielectric_thickness"), 0)
    usual = at_voltage(1.0, voltage=0.1, **fixed)
    for name in ("peak_flux_density", "half_millitesla_distance"):
        found = usual.figure(name)
        low, high = (at_voltage(each).value(name) for each in (0.9, 1.1))
        assert found.band[0] <= low * 1.001 and high <= found.band[1] * 1.001
        assert "voltage" in {source for source, _, _ in found.contributions}
    rows = zip(*(at_voltage(each).value("flux_density") for each in (1.0, 1.1)), strict=True)
    for row, (_, more) in zip(usual.value("flux_density"), rows, strict=True):
        assert row["flux_density_low"] - 1e-9 <= more["flux_density"] <= row["flux_density_high"] + 1e-9


def test_where_windings_lie_on_their_board_changes_nothing_of_their_largest_field():
    """The farther from the board's middle, the easier it would be to look beside them."""

    def placed(x, y):
        drawn = board(
            winding("a", centre=[x, y], drive={"current": 0.5}),
            winding("b", centre=[x + 14, y + 3], drive={"current": 0.1}),
            board=BOARD,
        )
        return job.case_of(drawn, *job.draw(drawn))

    near, far = placed(-7, 0), placed(31, -17)
    for name in ("peak_flux_density", "half_millitesla_distance"):
        assert far.value(name) == pytest.approx(near.value(name), rel=5e-3)


def test_the_field_over_the_boards_middle_is_there_where_its_outline_lies_off_the_windings_origin():
    sized = {**BOARD, "outline": "rectangle", "width": 24, "height": 24}
    fields = []
    for x in (0, 20):
        drawn = board(winding("a", centre=[x, 0]), board={**sized, "offset": [x, 0]})
        fields.append(job.case_of(drawn, *job.draw(drawn)).value("flux_density"))
    for row, moved in zip(*fields, strict=True):
        assert moved["flux_density"] == pytest.approx(row["flux_density"], rel=1e-4)


def cancelling(volts=1.0, held=0.4, **tolerance):
    """One over the other and against it: what is left on the axis is a tenth of each one's field, or so."""
    given = board(
        winding("a", copper_layers=[1, 2], drive={"current": held}),
        winding("b", copper_layers=[3, 4], direction="clockwise", drive={"voltage": volts}),
        board=BOARD,
        tolerance=tolerance,
    )
    return job.case_of(given, *job.draw(given))


def test_fields_that_cancel_have_the_band_of_what_each_winding_changes():
    """A twentieth of one winding's current is far more of what is left."""
    fixed = dict.fromkeys(("trace_width", "copper_thickness", "dielectric_thickness", "conductivity"), 0)
    held = 0.9 * cancelling().windings[1].case.value("current")
    usual, more = cancelling(held=held, voltage=0.05, **fixed), cancelling(1.05, held=held)
    row, raised = (each.value("flux_density")[0] for each in (usual, more))
    ends = [row["flux_density_low"], row["flux_density_high"]]
    change = raised["flux_density"] - row["flux_density"]
    assert abs(change) > 0.15 * abs(row["flux_density"])
    assert ends == pytest.approx(sorted(row["flux_density"] + each for each in (-change, change)), rel=1e-6)
    found = usual.figure("peak_flux_density")
    assert found.band[1] - found.value == pytest.approx(
        more.value("peak_flux_density") - found.value, rel=0.2
    )


def test_windings_of_two_supplies_do_not_vary_together():
    """Where fields cancel, two voltages of one supply leave what is left as exact as they are, two do not."""

    def share(held, volts):
        given = board(
            winding("a", copper_layers=[1, 2], drive={"voltage": held}),
            winding("b", copper_layers=[3, 4], direction="clockwise", drive={"voltage": volts}),
            board=BOARD,
            tolerance={
                **dict.fromkeys(("trace_width", "copper_thickness", "dielectric_thickness"), 0),
                "voltage": 0.05,
            },
        )
        row = job.case_of(given, *job.draw(given)).value("flux_density")[0]
        return (row["flux_density_high"] - row["flux_density_low"]) / 2 / abs(row["flux_density"])

    assert share(1.0, 1.0) == pytest.approx(0.05, rel=0.2)
    assert share(1.0, 1.1) > 0.2


def test_windings_that_face_nowhere_have_no_upper_end_of_their_capacitance():
    found = at_voltage(1.0).figure("capacitance_between")
    assert found.value[0]["capacitance"] == 0.0 and found.value[0]["high"] is None
    assert "No copper of a and b faces" in found.cautions[0]


def test_a_winding_whose_warmth_the_board_tells_is_told_cold_by_itself():
    own = at_voltage(1.0).windings[1].case
    assert own.figure("voltage").says.endswith("cold coil")
    assert own.figure("current_against_time").says == "current of the cold coil against time"
