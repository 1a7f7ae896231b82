"""Bends of a tail: radius by thickness, layers and kind; what lies there; how traces cross."""

import math
from dataclasses import replace

import pytest

import coilgen
from coilgen.artwork.art import Hole
from coilgen.design.stackup import named
from coilgen.geometry.line import Line
from coilgen.geometry.path import Path
from coilgen.job import draw
from coilgen.layout.coil import Trace
from coilgen.rules import bend_clearance, bend_crossing, bend_radius
from coilgen.rules.bend_radius import least_radius

MM = 1e-3


def board(stackup="flex-2-layer", **bend):
    return coilgen.Design.from_tables(
        {
            "name": "flap",
            "winding": {
                "shape": "round",
                "layers": 2,
                "turns": 6,
                "trace_width": 0.15,
                "trace_spacing": 0.15,
                "outer_size": 10,
            },
            "board": {"stackup": stackup},
            "tail": {"length": 30},
            "terminals": {"kind": "contact-fingers"},
            "stiffener": [{"thickness": 0.2}],
            "bend": [{"at": 12, "radius": 3, **bend}],
        }
    )


def findings(rule, design, art_of=lambda art: art):
    coil, art = draw(design)
    return list(rule.RULE.check(design, coil, art_of(art)))


class TestRadius:
    """IPC-2223: 6, 12 and 24 times the thickness once, 100 and 150 repeated; values from memory."""

    @pytest.mark.parametrize(
        ("stackup", "kind", "times"),
        [
            ("flex-1-layer", "once", 6),
            ("flex-2-layer", "once", 12),
            ("flex-4-layer", "once", 24),
            ("flex-1-layer", "repeated", 100),
            ("flex-2-layer", "repeated", 150),
        ],
    )
    def test_is_a_multiple_of_the_thickness_over_coverlays(self, stackup, kind, times):
        assert least_radius(named(stackup), kind) == pytest.approx(times * named(stackup).finished_thickness)

    def test_more_than_two_layers_are_not_bent_again_and_again(self):
        assert math.isinf(least_radius(named("flex-4-layer"), "repeated"))
        (found,) = findings(bend_radius, board("flex-4-layer", kind="repeated"))
        assert "tire" in found.says
        assert (found.value, found.limit, found.unit) == (4, 2, "1")

    def test_two_layers_of_195_um_bend_at_2_34_mm(self):
        assert findings(bend_radius, board(radius=2.34)) == []
        (found,) = findings(bend_radius, board(radius=2.33))
        assert (found.value, found.limit) == (pytest.approx(2.33 * MM), pytest.approx(2.34 * MM))
        assert "2.34 mm" in found.says


class TestClearance:
    def test_traces_alone_pass(self):
        assert findings(bend_clearance, board()) == []

    def test_fingers_window_and_stiffener_are_too_near_at_the_end(self):
        found = findings(bend_clearance, board(at=26))
        assert {each.layer for each in found if "a pad" in each.says} == {1}
        assert {each.layer for each in found if "a pad" not in each.says} == {None}
        assert {"a pad", "an opening of the coverlay", "the edge of a stiffener"} <= {
            each.says.split("There is ")[1].rsplit(" in what", 1)[0].split(" 0.")[0] for each in found
        }

    def test_a_stiffener_over_the_whole_bend_is_found(self):
        design = board().changed({"stiffener": [{"thickness": 0.2, "beneath": [-9, -40, 9, 9]}]})
        (found,) = findings(bend_clearance, design)
        assert "a stiffener in what is bent" in found.says
        strip = design.bend[0].length(design.board.stackup.finished_thickness) / 2
        _, art = draw(design)
        middle = (art.bends[0].path.start + art.bends[0].path.end) / 2
        across = abs(art.bends[0].path.end - art.bends[0].path.start) / 2
        assert found.at == pytest.approx(middle)
        assert found.value == pytest.approx(-min(9 * MM - across, middle.imag + 40 * MM - strip))

    @pytest.mark.parametrize(("away", "count"), [(0.99, 1), (1.01, 0)])
    def test_a_hole_keeps_a_millimetre(self, away, count):
        design = board()
        bent = design.bend[0].length(design.board.stackup.finished_thickness) / 2

        def drilled(art):
            middle = (art.bends[0].path.start + art.bends[0].path.end) / 2
            at = middle - 1j * (bent + away * MM + 0.2 * MM)
            return replace(art, holes=(Hole(at=at, diameter=0.4 * MM, plated=False, terminal=None),))

        told = [each for each in findings(bend_clearance, design, drilled) if "a hole" in each.says]
        assert [each.says.split(",")[0] for each in told] == [
            "There is a hole 0.99 mm from what is bent"
        ] * count
        assert [each.layer for each in told] == [None] * count


class TestCrossing:
    def test_straight_leads_pass(self):
        assert findings(bend_crossing, board()) == []

    @pytest.mark.parametrize(("aside", "askew"), [(0.0, False), (0.1, True)])
    def test_a_trace_askew_is_found(self, aside, askew):
        def with_trace(art):
            middle = (art.bends[0].path.start + art.bends[0].path.end) / 2
            line = Line(middle + complex(MM, 4 * MM), middle + complex((1 + aside) * MM, -4 * MM))
            return replace(art, traces=(*art.traces, Trace(layer=2, path=Path((line,)), width=0.2 * MM)))

        found = findings(bend_crossing, board(), with_trace)
        assert bool(found) == askew
        assert all(each.amounts[1] == "0 mm" for each in found)
