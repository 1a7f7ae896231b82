"""Distances between windings for an isolation voltage, on whole boards and against the standard's table.

Values of the tables: IEC 60664-1 (basic insulation, pollution degree 2, material group III, overvoltage
category II), from memory.
"""

import math

import numpy as np
import pytest

from coilgen.design.reading import read_text
from coilgen.errors import DesignError
from coilgen.job import draw_copper, findings_of, remarks
from coilgen.rules.isolation import RULE, surface_distance
from coilgen.rules.voltage_spacing import inner_spacing

mm = 1e-3


@pytest.mark.parametrize(
    ("voltage", "least"), [(24, 0.5), (50, 1.2), (100, 1.4), (230, 2.5), (300, 3.2), (400, 4.0), (1000, 10.0)]
)
def test_over_the_surface_the_standard_asks(voltage, least):
    assert surface_distance(voltage) == pytest.approx(least * mm)


def test_it_never_falls_with_the_voltage_and_ends_with_the_table():
    found = [surface_distance(voltage) for voltage in range(1, 1001)]
    assert found == sorted(found)
    assert surface_distance(1001.0) is None


WINDING = (
    '[[winding]]\nname = "{name}"\ncopper_layers = {layers}\ncentre = [{x}, 0]\n'
    'shape = "square"\nturns = 5\ntrace_width = 0.2\ntrace_spacing = 0.2\nouter_size = {size}\n'
    '[winding.terminals]\nside = "{side}"\n'
)
BOARD = (
    'name = "pair"\n[rules]\nisolation_voltage = {voltage}\n'
    '[board]\noutline = "none"\nstackup = "{stackup}"\n'
)


def pair(voltage, *, apart, layers=([1, 2], [1, 2]), stackup="rigid-2-layer-1.6mm", sizes=(12, 12)):
    """Two square windings whose copper is so far apart, mm, beside one another."""
    x = (sum(sizes) / 2 + apart) / 2 if apart is not None else 0.0
    return read_text(
        BOARD.format(voltage=voltage, stackup=stackup)
        + WINDING.format(name="drive", layers=layers[0], x=-x, size=sizes[0], side="west")
        + WINDING.format(name="sense", layers=layers[1], x=x, size=sizes[1], side="east")
    )


def found(design):
    return list(RULE.check(design, *draw_copper(design)))


@pytest.mark.parametrize(("voltage", "least"), [(50, 1.2), (230, 2.5)])
def test_windings_side_by_side(voltage, least):
    assert found(pair(voltage, apart=least + 0.01)) == []
    (finding,) = found(pair(voltage, apart=least - 0.01))
    assert finding.layer is None
    assert finding.value == pytest.approx((least - 0.01) * mm, abs=2e-9)
    assert finding.limit == pytest.approx(least * mm)
    assert abs(finding.at.real) < 0.2 * mm
    assert finding.says.startswith("Windings drive and sense come within ")
    assert "IEC 60664-1" in finding.says
    assert finding.says.endswith("places, on copper layers 1 and 2.")


@pytest.mark.parametrize(
    ("x", "how", "at"), [(7.0, "touch", "1.000"), (6.7, "overlap by 0.6 mm", "1.000"), (7.01, None, "")]
)
def test_windings_that_meet_are_told_to_and_where(x, how, at):
    """The first's pads, 1.8 mm wide, stand at 7.1 mm from its middle, beside the west side of the other."""
    terminals = WINDING.replace("[winding.terminals]", "[winding.terminals]\ndistance = 7.1")
    design = read_text(
        BOARD.format(voltage=230, stackup="rigid-2-layer-1.6mm")
        + terminals.format(name="drive", layers=[1], x=-x, size=12, side="east")
        + WINDING.format(name="sense", layers=[1], x=x, size=12, side="east")
    )
    (finding,) = (each for each in found(design) if each.layer == 1)
    met = f"Windings drive and sense {how}, a short, at {at}, -1.750 mm; for 230 V between them IEC 60664-1"
    assert finding.says.startswith(met if how else "Windings drive and sense come within 0.02 mm; for 230 V")


def test_at_the_distance_that_is_asked_they_are_clear():
    assert found(pair(230, apart=2.5)) == []
    inside = pair(230, apart=0.2, layers=([2, 3], [2, 3]), stackup="rigid-4-layer-1.6mm")
    assert inner_spacing(230.0) == pytest.approx(0.2 * mm)
    assert not [finding for finding in found(inside) if "inside the board" in finding.says]


def test_the_worst_place_of_all_is_told():
    """Round ones are nearest in one place; the next pieces of their turns are farther apart."""
    text = BOARD.format(voltage=230, stackup="rigid-2-layer-1.6mm")
    for name, x, side in (("drive", -7, "west"), ("sense", 7, "east")):
        text += WINDING.format(name=name, layers=[1], x=x, size=12, side=side).replace("square", "round")
    told = [each for each in found(read_text(text)) if each.layer == 1]
    coil, _ = draw_copper(read_text(text))
    drive, sense = (points(coil, name) for name in ("drive", "sense"))
    apart = np.abs(drive[:, None] - sense)
    one, other = np.unravel_index(apart.argmin(), apart.shape)
    assert [each.value for each in told] == pytest.approx([apart.min() - 0.2 * mm], abs=3e-6)
    assert abs(told[0].at - (drive[one] + sense[other]) / 2) < 0.1 * mm


def points(coil, net):
    """Along a net's traces on the top layer, m."""
    traces = [trace for trace in coil.traces if trace.net == net and trace.layer == 1]
    pieces = [piece for trace in traces for piece in trace.path.segments]
    return np.array([piece.at(k / 60) for piece in pieces for k in range(61)])


@pytest.mark.parametrize(("apart", "count"), [(0.158, 1), (0.16, 0), (0.162, 0)])
def test_ways_through_a_dielectric_may_be_askew(apart, count):
    """0.12 mm deep and 0.16 mm aside are 0.2 mm, which 250 V ask inside the board (IPC-2221)."""
    design = pair(250, apart=apart, layers=([1], [2]), stackup="flex-2-layer")
    stackup = {"copper": [0.018, 0.018], "dielectric": [0.12], "material": "polyimide"}
    through = [
        each for each in found(design.changed({"board.stackup": stackup})) if "dielectric" in each.says
    ]
    assert [each.value for each in through] == pytest.approx([math.hypot(0.12, apart) * mm] * count)


def test_inner_layers_may_be_nearer():
    """Only the outer layers of the two, where pads of layer changes and terminals stand, ask for more."""
    design = pair(230, apart=1.0, layers=([2, 3], [2, 3]), stackup="rigid-4-layer-1.6mm")
    assert not [finding for finding in found(design) if finding.layer in (2, 3)]


def test_a_thin_dielectric_between_windings_over_one_another():
    stackup = "rigid-4-layer-1.6mm"
    thin = pair(250, apart=None, layers=([1, 2], [3, 4]), stackup=stackup)
    dielectric = thin.board.stackup.dielectric
    through = [finding for finding in found(thin) if "dielectric" in finding.says]
    assert (dielectric[1] < 0.2 * mm) == bool(through)
    near = pair(250, apart=None, layers=([1], [2]), stackup="flex-2-layer", sizes=(12, 12))
    (finding,) = [finding for finding in found(near) if "dielectric" in finding.says]
    assert finding.value == pytest.approx(near.board.stackup.dielectric[0])
    assert finding.limit == pytest.approx(0.2 * mm)


def test_a_windings_own_layers_may_be_as_near_as_they_are():
    apart = pair(250, apart=20.0, stackup="flex-2-layer")
    assert apart.board.stackup.dielectric[0] < 0.2 * mm
    assert found(apart) == []


@pytest.mark.parametrize(("layer", "told"), [(2, [1]), (3, []), (4, [])])
def test_dielectrics_are_summed_from_one_winding_to_the_other(layer, told):
    """For 500 V 0.25 mm inside the board (IPC-2221, from memory): the outer dielectrics here are thinner."""
    design = pair(500, apart=None, layers=([1], [layer]), stackup="rigid-4-layer-1.6mm")
    assert design.board.stackup.dielectric[0] < 0.25 * mm < design.board.stackup.dielectric[1]
    through = [finding for finding in found(design) if "dielectric" in finding.says]
    assert [finding.layer for finding in through] == told


def test_beyond_the_tables():
    assert not [finding for finding in found(pair(500, apart=20.0)) if finding.unit == "V"]
    (finding,) = found(pair(501, apart=20.0))
    assert (finding.unit, finding.value, finding.limit) == ("V", 501.0, 500.0)
    assert "licensed" in finding.says


def test_without_a_voltage_and_for_one_winding_nothing_is_asked():
    one = read_text(
        'name = "one"\n[rules]\nisolation_voltage = 230\n[winding]\nshape = "round"\nturns = 5\n'
        "trace_width = 0.2\ntrace_spacing = 0.2\nouter_size = 12\n"
    )
    assert found(one) == []
    assert any("no effect on a board of one winding" in told for told in remarks(one, *draw_copper(one)))
    silent = pair(50, apart=0.3).changed({"rules.isolation_voltage": None})
    assert found(silent) == []
    assert "isolation_voltage" not in silent.resolved()["rules"]


def test_what_is_not_measured_is_told_as_a_warning():
    design = pair(230, apart=5.0)
    coil, board = draw_copper(design)
    assert not findings_of(design, coil, board)
    (told,) = [told for told in remarks(design, coil, board) if "230 V" in told]
    assert told.startswith("Warning:")
    assert "licensed practice" in told


@pytest.mark.parametrize("given", ['"50 A"', "-3", '"high"'])
def test_no_voltage_is_refused(given):
    with pytest.raises(DesignError, match=r"rules\.isolation_voltage"):
        pair(given, apart=5.0)
