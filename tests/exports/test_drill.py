"""The drill files hold exactly the art's holes, in the commands of the XNC Format Specification (2021.11)."""

import re
from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from coilgen.artwork.art import Hole
from coilgen.exports.fab.drill import EXPORT

COORDINATES = re.compile(r"X(-?\d+\.\d{3,6})Y(-?\d+\.\d{3,6})")
TOOL = re.compile(r"T(\d\d)C(\d+\.\d{3,6})")


def drilled(content):
    """File function and [(x, y, diameter, function), ...] in mm, from a strict reading of a drill file."""
    lines = content.decode("ascii").split("\n")
    start, end = lines.index("METRIC"), lines.index("%")
    assert lines[0] == "M48"
    assert lines[end + 1] == "G05"
    assert lines[-2:] == ["M30", ""]
    marker = "; #@! TF.FileFunction,"
    (function,) = [line.removeprefix(marker) for line in lines[:start] if line.startswith(marker)]
    return function, list(_hits(lines[end + 2 : -2], _tools(lines[start + 1 : end])))


def _tools(lines):
    tools = {}
    for attribute, definition in zip(lines[::2], lines[1::2], strict=True):
        number, diameter = TOOL.fullmatch(definition).groups()
        tools[number] = (float(diameter), re.fullmatch(r"; #@! TA\.AperFunction,(\w+)", attribute)[1])
    return tools


def _hits(lines, tools):
    tool = None
    for line in lines:
        if line.startswith("T"):
            tool = tools[line[1:]]
        else:
            x, y = COORDINATES.fullmatch(line).groups()
            yield (float(x), float(y), *tool)


def files(result):
    name = result.design.name
    written = EXPORT.files(result)
    assert set(written) <= {f"fab/{name}-drill-plated.drl", f"fab/{name}-drill-unplated.drl"}
    return tuple(written.get(f"fab/{name}-drill-{wall}.drl") for wall in ("plated", "unplated"))


def expected(holes):
    return sorted(
        (
            round(hole.at.real * 1e3, 6),
            round(hole.at.imag * 1e3, 6),
            round(hole.diameter * 1e3, 6),
            "MechanicalDrill"
            if not hole.plated
            else "ViaDrill"
            if hole.terminal is None
            else "ComponentDrill",
        )
        for hole in holes
    )


def test_every_hole_is_in_its_file(result):
    for content, plated in zip(files(result), (True, False), strict=True):
        holes = [hole for hole in result.art.holes if hole.plated == plated]
        assert (content is not None) == bool(holes)
        if content is not None:
            assert sorted(drilled(content)[1]) == expected(holes)


def test_file_functions_tell_plating_and_span(four_layers):
    assert [drilled(content)[0] for content in files(four_layers)] == ["Plated,1,4,PTH", "NonPlated,1,4,NPTH"]


def test_without_holes_there_is_no_file(flexible):
    """A file of no holes on one copper layer would read Plated,1,1,PTH, which no board has."""
    assert EXPORT.files(flexible) == {}


def test_tools_are_numbered_from_one_and_used_once(four_layers):
    plated = files(four_layers)[0].decode()
    assert [line for line in plated.splitlines() if line.startswith("T")] == [
        "T01C0.300",
        "T02C1.000",
        "T01",
        "T02",
    ]


def test_one_diameter_for_two_purposes_makes_two_tools(two_layers):
    holes = tuple(replace(hole, diameter=0.9e-3) for hole in two_layers.art.holes)
    plated, _ = files(replace(two_layers, art=replace(two_layers.art, holes=holes)))
    assert {hit[3] for hit in drilled(plated)[1]} == {"ViaDrill", "ComponentDrill"}


nanometres = st.integers(-200_000_000, 200_000_000)


@settings(max_examples=100, deadline=None)
@given(
    places=st.lists(st.tuples(nanometres, nanometres), min_size=1, max_size=8),
    diameter=st.integers(100_000, 6_300_000),
    plated=st.booleans(),
)
def test_holes_anywhere_come_back_to_the_nanometre(two_layers, places, diameter, plated):
    holes = tuple(
        Hole(at=complex(x, y) * 1e-9, diameter=diameter * 1e-9, plated=plated, terminal=None)
        for x, y in places
    )
    written = files(replace(two_layers, art=replace(two_layers.art, holes=holes)))
    hits = drilled(written[0 if plated else 1])[1]
    assert [(round(x * 1e6), round(y * 1e6), round(d * 1e6)) for x, y, d, _ in hits] == [
        (x, y, diameter) for x, y in places
    ]


def test_an_independent_reader_finds_the_holes(four_layers):
    from gerbyx.dispatcher import process_file

    for content, plating in zip(files(four_layers), ("PTH", "NPTH"), strict=True):
        hits = process_file(content.decode(), format_hint="excellon").primitives
        assert {hit.plating for hit in hits} == {plating}
        assert [(hit.x_mm, hit.y_mm, hit.diameter_mm) for hit in hits] == [h[:3] for h in drilled(content)[1]]


def test_same_bytes_on_every_run(result):
    assert EXPORT.files(result) == EXPORT.files(result)
