"""Eddy currents in the copper of several windings: against sheet currents of all copper at once, and laws."""

from functools import cache

import numpy as np
import pytest
from array_windings import WINDING
from board_designs import board, winding
from sheet_currents import strips_impedances

from coilgen import job
from coilgen.design.reading import read_tables
from coilgen.figures.several._eddies import eddies
from coilgen.figures.several._warm import state
from coilgen.layout.coil import conductor
from coilgen.physics.base.conductor import Conductor

FREQUENCY = 1e6
SINE = {"waveform": "sine", "frequency": FREQUENCY}
WIDE = {"turns": 2, "trace_width": 0.8, "trace_spacing": 0.3, "outer_size": 12}


def of(*windings, **tables):
    drawn = board(*windings, drive={"current": 1.0, **SINE}, **tables)
    return job.case_of(drawn, *job.draw(drawn))


@cache
def stacked(distance, turned=0.0):
    """One on the upper two layers, one on the lower two, moved aside."""
    return of(
        winding("a", copper_layers=[1, 2], **WIDE),
        winding("b", copper_layers=[3, 4], centre=[distance, 0.0], rotation=turned, **WIDE),
        board={"stackup": "rigid-4-layer-1.6mm"},
    )


@cache
def side_by_side():
    return of(winding("a", centre=[-6.6, 0.0], **WIDE), winding("b", centre=[6.6, 0.0], **WIDE))


def beside_direct_current(drive):
    drawn = board(
        winding("a", copper_layers=[1, 2], **WIDE, drive=drive),
        winding("b", copper_layers=[3, 4], **WIDE, drive={"current": 0.01}),
        drive={"ambient": 25},
        board={"stackup": "rigid-4-layer-1.6mm"},
    )
    return job.case_of(drawn, *job.draw(drawn))


def cold(case):
    return tuple(float(each.case.value("resistance_20c")) for each in case.windings)


def heat_of_sheets(case):
    """Rise of the resistance matrix of the windings, ohm: all copper at once, as sheets."""
    parts = [conductor(each.coil, case.design.board.stackup) for each in case.windings]
    fields = ("start", "end", "centre", "sweep", "width", "thickness", "z", "layer")
    whole = Conductor(**{name: np.concatenate([getattr(part, name) for part in parts]) for name in fields})
    found, runs = strips_impedances(whole, [1.0, FREQUENCY], across=8, arc=np.radians(30.0))
    rise = (found[1] - found[0]).real
    of_winding = np.array([int(run[0] >= len(parts[0].layer)) for run in runs])
    member = np.eye(2)[of_winding]
    return member.T @ rise @ member


def heat_told(case):
    """The same of what is told, by currents alone and of both in step."""
    found = eddies(case, cold(case))
    alone = found.alone.sum(axis=0)
    both = (found.alone + found.in_step).sum()
    mutual = 0.5 * (both - alone.sum())
    return np.array([[alone[0], mutual], [mutual, alone[1]]])


@pytest.mark.slow
@pytest.mark.parametrize("drawn", [(stacked, 0.0), (stacked, 4.0, 90.0), (side_by_side,)])
def test_sheet_currents_of_all_copper_make_as_much_heat(drawn):
    """Of windings over each other 6 to 11 % more, which the sheets' coarse cells and shielding leave out."""
    make, *told = drawn
    case = make(*told)
    sheets = heat_of_sheets(case)
    assert heat_told(case) == pytest.approx(sheets, abs=0.13 * sheets.max())


def test_windings_far_apart_heat_as_each_alone():
    far = of(winding("a", centre=[-60, 0.0], **WIDE), winding("b", centre=[60, 0.0], **WIDE))
    found = eddies(far, cold(far))
    own = np.diag(found.alone)
    assert (own > 0.2 * np.array(cold(far))).all()
    assert np.abs(found.alone + found.in_step - np.diag(own)).max() < 1e-4 * own.min()


def test_all_heat_made_leaves_and_is_told_as_power():
    settled = state(stacked(0.0))
    lost = sum(settled.board.convected.values()) + sum(settled.board.radiated.values())
    assert settled.power.sum() == pytest.approx(lost, rel=1e-6)
    ohmic = settled.resistance * settled.current**2
    found = eddies(stacked(0.0), cold(stacked(0.0)))
    more = (found.alone + found.in_step) @ settled.current**2
    assert settled.power == pytest.approx(ohmic + more, rel=1e-6)
    assert more.min() > 0.3 * ohmic.max()


def test_sines_of_two_frequencies_do_not_add_up_in_step():
    other = {"drive": {"current": 1.0, "waveform": "sine", "frequency": 0.999 * FREQUENCY}}
    apart = of(
        winding("a", copper_layers=[1, 2], **WIDE),
        winding("b", copper_layers=[3, 4], centre=[0.0, 0.0], rotation=0.0, **WIDE, **other),
        board={"stackup": "rigid-4-layer-1.6mm"},
    )
    found, one = eddies(apart, cold(apart)), eddies(stacked(0.0), cold(stacked(0.0)))
    assert not found.in_step.any()
    assert found.alone == pytest.approx(one.alone, rel=0.01)
    sources = {source for source, *_ in stacked(0.0).figure("temperature").contributions}
    assert {"instants of the drives", "model of impedance"} <= sources
    assert "instants of the drives" not in str(apart.figure("temperature").contributions)


def test_a_winding_driven_by_direct_current_is_heated_by_the_other_ones_field():
    case = beside_direct_current({"current": 1.0, **SINE})
    found = state(case)
    assert found.power[1] == pytest.approx(eddies(stacked(0.0), cold(case)).alone[1, 0], rel=0.01)


def test_layers_in_parallel_carry_their_share_of_what_heats_the_other_copper():
    """Two turns with half the current each make nearly the field of one; the lower one is nearer."""
    sizes = {"turns": 1, "trace_width": 0.8, "trace_spacing": 0.3, "outer_size": 12}
    heated = [
        eddies(case, cold(case)).alone[1, 0]
        for source in ({"copper_layers": [1]}, {"copper_layers": [1, 2], "connection": "parallel"})
        for case in [
            of(
                winding("a", **sizes, **source),
                winding("b", copper_layers=[4], **sizes),
                board={"stackup": "rigid-4-layer-1.6mm"},
            )
        ]
    ]
    assert heated[1] == pytest.approx(heated[0], rel=0.2)


@pytest.mark.parametrize("waveform", [SINE, {"waveform": "square", "frequency": 2e5, "duty": 0.4}])
def test_a_coil_of_an_array_is_heated_as_the_same_windings_are(waveform):
    drive = {"current": 0.5, **waveform}
    row = {"arrangement": "row", "count": 2, "pitch": 8.6, "phases": 1, "coils": "open"}
    drawn = read_tables({"name": "row", "winding": WINDING, "array": row, "drive": drive})
    array = job.case_of(drawn, *job.draw(drawn))
    placed = [
        {**WINDING, "name": str(k), "centre": [each.centre.real * 1e3, 0.0], "rotation": each.rotation}
        for k, each in enumerate(drawn.windings)
    ]
    board_of = read_tables({"name": "two", "winding": placed, "drive": drive})
    windings = job.case_of(board_of, *job.draw(board_of))
    one, other = (eddies(case, cold(case)) for case in (array, windings))
    senses = [each.sense for each in drawn.windings]
    together = other.alone + other.in_step * senses[0] * senses[1]
    assert (one.alone + one.in_step).sum(axis=1) == pytest.approx(together.sum(axis=1), rel=2e-3)


def test_a_switched_current_heats_another_winding_as_its_harmonics_do():
    """Up to the frequencies told: each harmonic's square times what a sine of it makes."""
    square = {"current": 1.0, "waveform": "square", "frequency": 1e6, "duty": 0.5}

    def made(drive):
        case = beside_direct_current(drive)
        return eddies(case, cold(case)).alone[1, 0]

    summed = sum(
        (2 / (np.pi * k)) ** 2 / 2 * made({"current": 1.0, "waveform": "sine", "frequency": k * 1e6})
        for k in (1, 3, 5, 7, 9)
    )
    assert 0.5 * made(square) == pytest.approx(summed, rel=0.02)
