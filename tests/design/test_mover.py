"""The mover of an array in a design file, and what is refused."""

import math

import pytest
from mover_designs import FAN, STAGE, changed
from small_design import TABLES

from coilgen.design.design import Design
from coilgen.design.reading import read_tables
from coilgen.errors import DesignError

REFUSED = [
    (FAN, {"mover.poles": 5}, "mover.poles: 5 poles do not alternate round a ring"),
    (FAN, {"mover.pitch": 10}, 'mover.pitch: has no use with arrangement = "ring"'),
    (FAN, {"mover.radius": None}, 'mover.radius: not given; arrangement = "ring" needs it'),
    (STAGE, {"mover.radius": 10}, 'mover.radius: has no use with arrangement = "row"'),
    (STAGE, {"mover.pitch": None}, 'mover.pitch: not given; arrangement = "row" needs it'),
    (STAGE, {"mover.magnet.form": "segment"}, 'mover.magnet.form: "segment" is part of a ring'),
    (STAGE, {"mover.magnet.width": 13}, "mover.magnet.width: 13 mm leaves no room for 4 magnets"),
    (STAGE, {"mover.magnet.depth": None, "mover.magnet.width": None}, "mover.magnet.width: not given"),
    (FAN, {"mover.magnet.diameter": 20}, "mover.magnet.diameter: 20 mm leaves no room for 4 magnets"),
    (FAN, {"mover.magnet.angle": 30}, 'mover.magnet.angle: has no use with form = "disc"'),
    (FAN, {"mover.magnet.gap_tolerance": 0.1}, "mover.magnet.gap_tolerance: is the mover's"),
    (FAN, {"mover.magnet.grade": None}, "mover.magnet.grade: not given"),
    (FAN, {"mover.magnet.remanence": "1.2 T"}, "mover.magnet.remanence: given besides grade"),
    (FAN, {"mover.gap": None}, "mover.gap: "),
    (FAN, {"mover.arrangement": "row", "mover.radius": None, "mover.pitch": 20}, 'mover.arrangement: "row"'),
    (
        FAN,
        {"magnet": {"diameter": 5, "thickness": 2, "gap": 1, "grade": "N42"}},
        "magnet: has no place beside",
    ),
    (FAN, {"drive.waveform": "sine", "drive.frequency": 50}, 'drive.waveform: "sine" does not follow'),
    (FAN, {"drive.waveform": "six-step", "drive.frequency": 50}, "drive.frequency: has no use"),
    (
        STAGE,
        {"drive.waveform": "six-step", "array.phases": 1},
        'drive.waveform: "six-step" is for three phases',
    ),
    (
        FAN,
        {"core": [{"diameter": 40, "form": "disc", "thickness": 1, "place": "top"}]},
        'core 1.place: "top"',
    ),
    (
        FAN,
        {"mounting.base_plate": {"place": "top", "thickness": 2, "width": 40}},
        "mounting.base_plate.thickness: 2 mm stands in the mover's gap of 1.5 mm",
    ),
]


@pytest.mark.parametrize(("tables", "changes", "line"), REFUSED, ids=[each[2] for each in REFUSED])
def test_what_is_refused(tables, changes, line):
    with pytest.raises(DesignError) as caught:
        read_tables(changed(tables, changes))
    assert any(str(fault).startswith(line) for fault in caught.value.faults), caught.value.faults


def test_segments_and_one_piece_are_placed_by_their_diameters():
    piece = {"form": "one-piece", "diameter": 36, "hole_diameter": 16, "thickness": 3, "grade": "N42"}
    mover = read_tables(changed(FAN, {"mover.magnet": piece, "mover.radius": None})).mover
    assert mover.middle_radius == pytest.approx(13e-3) and mover.breadth == pytest.approx(10e-3)
    assert mover.pole_area == pytest.approx(math.pi / 4 * (36e-3**2 - 16e-3**2) / 4)
    wide = {**piece, "form": "segment", "angle": 95}
    with pytest.raises(DesignError, match=r"mover\.magnet\.angle: 95° leaves no room for 4 magnets"):
        read_tables(changed(FAN, {"mover.magnet": wide, "mover.radius": None}))


def test_a_mover_needs_an_array_and_six_steps_a_mover():
    with pytest.raises(DesignError, match="mover: passes the coils of an"):
        read_tables({**TABLES, "mover": FAN["mover"]})
    for tables in (TABLES, changed(FAN, {"mover": None})):
        with pytest.raises(DesignError, match=r"drive\.waveform: .six-step. follows a mover's place"):
            read_tables({**tables, "drive": {"waveform": "six-step"}})


def test_phases_follow_from_the_movers_poles_and_the_design_reads_back():
    design = read_tables(FAN)
    assert design.array.phase_order == "ABCABC"
    assert Design.from_resolved(design.resolved()) == design
    assert read_tables(changed(FAN, {"mover": None})).resolved().get("mover") is None


def test_each_coil_is_driven_as_warm_as_in_its_phase():
    """6 V: amplitude 6 / sqrt(3) across two coils in a star; its root mean square across each."""
    star = read_tables(FAN).windings[0].design.drive.voltage
    assert star == pytest.approx(6 / math.sqrt(3) / math.sqrt(2) / 2)
    steps = read_tables(changed(FAN, {"drive.waveform": "six-step"})).windings[0].design.drive.voltage
    assert steps == pytest.approx(3 * math.sqrt(2 / 3) / 2)
    held = read_tables(changed(FAN, {"drive": {"current": 1.0}, "array.coils": "parallel"}))
    assert held.windings[0].design.drive.current == pytest.approx(math.sqrt(0.5) / 2)
