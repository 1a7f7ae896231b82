"""Bodies in the cut: where the design puts them, broken where they are long, named with material and size."""

import re
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from samples import TABLES
from svg_reader import SVG, Element, read_back

from coilgen.design.design import Design
from coilgen.exports.picture import cross_section
from coilgen.exports.picture._section_heights import heights
from coilgen.job import draw
from coilgen.result.result import Result

ROD = {"place": "pocket", "thickness": "2.6 mm", "rise": "1 mm"}
PLATE = {"place": "bottom", "width": "15 mm", "thickness": "0.5 mm", "material": "low-carbon steel"}
RING = {"place": "top", "form": "ring", "diameter": "12 mm", "hole_diameter": "7 mm", "thickness": "0.4 mm"}
MAGNET = {"grade": "N42", "diameter": "6 mm", "thickness": "1 mm", "gap": "1.5 mm"}
CLIP = {"place": "bottom", "width": "4 mm", "thickness": "0.5 mm", "gap": "0.5 mm"}


def root_of(**tables: object) -> Element:
    design = Design.model_validate({"name": "shutter", **TABLES["shutter"], **tables})
    coil, art = draw(design)
    result = Result(design=design, coil=coil, art=art, findings=(), figures={}, cautions=())
    return read_back(cross_section.files(result))


def exaggeration(root: Element) -> float:
    return float([text.text or "" for text in root.findall(f"{SVG}text")][-1].rpartition("× ")[2])


def bodies(root: Element, kind: str) -> list[Element]:
    return [group for group in root.iter(f"{SVG}g") if (group.get("class") or "").startswith(f"body {kind}")]


def extents(body: Element) -> list[tuple[float, float, float, float]]:
    """West, east, lowest, highest of each outlined piece, mm, heights as drawn."""
    found = []
    for path in body.findall(f"{SVG}path[@fill='none']"):
        pairs = re.findall(r"(-?[\d.]+) (-?[\d.]+)", path.get("d", ""))
        xs, ys = [float(x) for x, _ in pairs], [-float(y) for _, y in pairs]
        found.append((min(xs), max(xs), min(ys), max(ys)))
    return found


def text_of(root: Element) -> str:
    return " ".join(" ".join(each.itertext()) for each in root.iter(f"{SVG}text")).replace("\u00a0", " ")


def test_a_design_without_bodies_shows_none() -> None:
    root = root_of()
    assert [group for group in root.iter(f"{SVG}g") if (group.get("class") or "").startswith("body")] == []
    assert list(root.iter(f"{SVG}pattern")) == []


def test_cores_stand_where_the_design_puts_them() -> None:
    root = root_of(core=[ROD, PLATE, RING])
    times = exaggeration(root)
    rod, plate, ring = (extents(body) for body in bodies(root, "core"))
    assert rod == [pytest.approx((-3.05, 3.05, -1.6 * times, times), abs=2e-3 * times)]
    assert plate == [pytest.approx((-7.5, 7.5, -2.15 * times, -1.65 * times), abs=2e-3 * times)]
    high = pytest.approx((0.05 * times, 0.45 * times))
    assert [piece[:2] for piece in ring] == [pytest.approx((-6, -3.5)), pytest.approx((3.5, 6))]
    assert [piece[2:] for piece in ring] == [high, high]


def test_magnet_and_target_stand_off_by_gap_and_offset() -> None:
    root = root_of(magnet={**MAGNET, "offset": ["2 mm", "0 mm"]}, target=CLIP)
    times = exaggeration(root)
    (magnet,), (target,) = bodies(root, "magnet"), bodies(root, "target")
    assert extents(magnet) == [pytest.approx((-1, 5, 1.5 * times, 2.5 * times))]
    assert extents(target) == [pytest.approx((-2, 2, -2.6 * times, -2.1 * times), abs=2e-3 * times)]


def test_the_cut_of_a_disc_off_its_centre_is_a_chord() -> None:
    (magnet,) = bodies(root_of(magnet={**MAGNET, "offset": ["0 mm", "1.8 mm"]}), "magnet")
    assert extents(magnet)[0][:2] == pytest.approx((-2.4, 2.4))


def test_a_body_beside_the_cut_is_dashed_and_told() -> None:
    root = root_of(magnet={**MAGNET, "offset": ["0 mm", "4 mm"]})
    (magnet,) = bodies(root, "magnet")
    (edge,) = magnet.findall(f"{SVG}path")
    assert edge.get("stroke-dasharray")
    assert extents(magnet)[0][:2] == pytest.approx((-3, 3))
    assert "beside the cut" in text_of(root)


@pytest.mark.parametrize(
    ("pole", "letters"),
    [("up", "NS"), ("down", "SN"), ("east", "SN"), ("west", "NS"), ("north", "S"), ("south", "N")],
)
def test_poles_are_marked_where_they_point(pole: str, letters: str) -> None:
    """From the top down, from west to east; along the view the pole that looks at the reader."""
    (magnet,) = bodies(root_of(magnet={**MAGNET, "pole": pole}), "magnet")
    marks = sorted(
        (float(text.get("y", "")), float(text.get("x", "")), text.text or "")
        for text in magnet.iter(f"{SVG}text")
    )
    assert "".join(letter for *_, letter in marks) == letters


def test_a_body_wider_than_the_picture_is_broken_off_at_its_ends() -> None:
    root = root_of(core=[{**PLATE, "width": "90 mm"}])
    (plate,) = bodies(root, "core")
    west, east, *_ = extents(plate)[0]
    left, _, width, _ = (float(each) for each in (root.get("viewBox") or "").split())
    assert left <= west < -10
    assert 10 < east <= left + width
    corners = (plate.findall(f"{SVG}path[@fill='none']")[0].get("d") or "").count("L") + 1
    assert corners == 12


def test_a_far_body_is_brought_near_by_a_marked_break() -> None:
    root = root_of(target={**CLIP, "gap": "300 mm"})
    assert len([group for group in root.iter(f"{SVG}g") if group.get("class") == "break"]) == 1
    assert "broken where marked" in text_of(root)
    _, _, width, height = (float(each) for each in (root.get("viewBox") or "").split())
    assert height < width
    near = root_of(target=CLIP)
    assert [group for group in near.iter(f"{SVG}g") if group.get("class") == "break"] == []


def test_bodies_are_named_with_material_and_measures() -> None:
    plate = {"material": "aluminium", "width": "24 mm", "thickness": "1 mm"}
    root = root_of(core=[ROD], magnet=MAGNET, mounting={"base_plate": plate})
    said, told = text_of(root), " ".join((root.findtext(f"{SVG}desc") or "").split())
    for says in (
        "soft iron, rod 6.1 mm across, 2.6 mm long, rises 1 mm",
        "N42, disc 6 mm across, 1 mm thick, gap 1.5 mm",
        "aluminium, 24 × 24 mm, 1 mm thick",
    ):
        assert says in said
        assert says in told


def test_names_do_not_meet() -> None:
    root = root_of(core=[ROD, PLATE, RING], magnet=MAGNET, target={**CLIP, "gap": "2 mm"})
    (names,) = [group for group in root.iter(f"{SVG}g") if group.get("class") == "names"]
    places = [float(text.get("y", "")) for text in names.iter(f"{SVG}text")]
    size = float(next(names.iter(f"{SVG}text")).get("font-size", ""))
    assert all(below - above > 1.3 * size for above, below in pairwise(places))


@pytest.mark.parametrize("faces", [(), (1e-4, 5e-4), (-3e-3, -2e-3, 2e-3, 4e-3), (0.5, 0.6)])
def test_heights_rise_and_keep_the_board_in_proportion(faces: tuple[float, ...]) -> None:
    made = heights(20e-3, (-1.6e-3, 2e-5), faces)
    assert list(made.drawn) == sorted(set(made.drawn))
    assert made.up(0.0) == 0.0
    for height in (-1.6e-3, -1e-3, -1e-4, 2e-5):
        assert made.up(height) == pytest.approx(made.exaggeration * height)


LENGTHS = st.floats(0.05, 500.0).map(lambda length: round(length, 3))


@settings(deadline=None, max_examples=40)
@given(
    plate=LENGTHS,
    thickness=st.floats(0.05, 50.0).map(lambda length: round(length, 3)),
    gap=LENGTHS,
    offset=st.tuples(st.floats(-60.0, 60.0), st.floats(-60.0, 60.0)),
    pole=st.sampled_from(("up", "down", "north", "east", "south", "west")),
    side=st.sampled_from(("top", "bottom")),
)
def test_any_bodies_are_drawn_within_the_picture(
    plate: float, thickness: float, gap: float, offset: tuple[float, float], pole: str, side: str
) -> None:
    other = "bottom" if side == "top" else "top"
    magnet = {"grade": "N42", "diameter": plate, "thickness": thickness, "gap": gap, "place": side}
    root = root_of(
        core=[{"place": side, "width": plate, "thickness": thickness}],
        magnet={**magnet, "pole": pole, "offset": [round(each, 3) for each in offset]},
        target={"form": "disc", "diameter": plate, "thickness": thickness, "gap": gap, "place": other},
    )
    left, top, width, height = (float(each) for each in (root.get("viewBox") or "").split())
    for kind in ("core", "magnet", "target"):
        for body in bodies(root, kind):
            for west, east, low, high in extents(body):
                assert left <= west < east <= left + width
                assert top <= -high <= -low <= top + height
                assert high > low
    assert height < 2 * width
