"""A design as the heat model sees it: areas, copper, resistances, what is mounted on it."""

import math

import pytest
from heat_designs import FLEX, case, plate

from coilgen.figures.heat._assembly import assembly
from coilgen.figures.heat._layer_resistances import layer_resistances
from coilgen.figures.heat._outline import outline_is_winding, winding_ring


@pytest.mark.parametrize(
    ("shape", "form"), [("round", math.pi), ("square", 4.0), ("hexagonal", 2 * math.sqrt(3))]
)
def test_ring_has_the_areas_of_its_shape(shape, form):
    ring = winding_ring(case(winding={"shape": shape}, board={"outline": "square"}))
    assert ring.outer == pytest.approx(form * 7e-3**2, rel=0.02)
    assert ring.inner / ring.outer == pytest.approx((5.9 / 14) ** 2, rel=1e-9)


def test_board_is_that_of_the_profile():
    found = assembly(case(board={"outline": "rectangle", "size": None, "width": 16, "height": 20})).board
    assert found.outline.area == pytest.approx(320e-6)
    assert found.outline.perimeter == pytest.approx(72e-3)
    assert found.outline.height == pytest.approx(20e-3)
    assert found.thickness == pytest.approx(0.8e-3)


def test_board_and_plate_end_where_they_stay_cool():
    base = {"material": "glass", "width": 100, "thickness": 1}
    found = assembly(case(board={"size": 80}, **{"mounting.base_plate": base}))
    reach = math.sqrt(1.0 * 1e-3 / 40)
    assert found.bottom.outline.radius == pytest.approx(7e-3 + reach, rel=0.01)
    assert found.bottom.outline.perimeter == pytest.approx(4 * math.sqrt(found.bottom.outline.area))
    beyond = math.sqrt(0.8 * 0.8e-3 / 40)
    assert found.board.outline.radius == pytest.approx(found.bottom.outline.radius + beyond)


@pytest.mark.parametrize("board", [{"outline": "none", "size": None}, {"size": 14.5}])
def test_a_winding_without_room_on_a_board_is_its_own_board(board):
    winding = {"shape": "square", "outer_size": 14}
    given = case(winding=winding, board=board)
    assert outline_is_winding(given)
    outline = assembly(given).board.outline
    assert outline.area == pytest.approx(14e-3**2, rel=0.02)
    assert outline.perimeter == pytest.approx(4 * 14e-3, rel=0.02)
    assert "winding's outline" in given.figure("temperature").model


def test_a_tail_adds_nothing_to_a_board_too_small_for_its_winding():
    """A round board cuts off an octagon's corners: its tail is no room for them."""
    winding = {"shape": "octagonal", "outer_size": 14}
    given = case(winding=winding, board={"outline": "round", "size": 14.3}, tail={"length": 12})
    assert given.art.outline.swept_area > winding_ring(given).outer > math.pi / 4 * 14.3e-3**2
    assert outline_is_winding(given)
    assert 20 < given.value("temperature") < 200


def test_copper_covers_its_share_of_the_ring():
    first, second = assembly(case()).board.layers
    assert first.coverage == pytest.approx(0.5, abs=0.04)
    assert second.coverage == pytest.approx(first.coverage, rel=0.05)
    assert 0 < first.island_coverage < 0.05
    assert first.pour_coverage == 0


@pytest.mark.parametrize("connection", ["series", "parallel"])
def test_layers_share_the_whole_resistance(connection):
    winding = {"connection": connection, "layers": 2 if connection == "series" else 3}
    given = case(winding=winding, board={"stackup": "rigid-4-layer-1.6mm"})
    each = layer_resistances(given)
    assert sum(each) == pytest.approx(given.value("resistance_20c"), rel=1e-12)
    assert sum(each) == pytest.approx(assembly(given).board.resistance_20c, rel=1e-12)
    # In series thin copper makes more of the heat, side by side less of it.
    assert (each[1] > 1.5 * each[0]) == (connection == "series")
    assert each[3] < 0.1 * each[0]


def test_one_copper_layer_has_a_bare_face():
    found = assembly(case(winding={"layers": 1}, board={"stackup": "flex-1-layer"})).board
    assert [layer.thickness for layer in found.layers] == [35e-6, 0.0]
    assert found.layers[1].resistance_20c == 0


def test_pocket_is_a_hole_of_its_area():
    found = assembly(case(pocket={"shape": "square", "size": 2.5, "corner_radius": 0.5}))
    area = 2.5e-3**2 - (4 - math.pi) * 0.5e-3**2
    assert math.pi * found.board.hole_radius**2 == pytest.approx(area)


def test_core_in_the_pocket_touches_the_wall_it_stands_in():
    pocket, rod = {"size": 3}, {"place": "pocket", "diameter": 3, "thickness": 3, "rise": 1}
    found = assembly(case([rod], pocket=pocket))
    assert found.core.contact_area == pytest.approx(math.pi * 3e-3 * 0.8e-3)
    ends, side = math.pi / 2 * 9e-6, math.pi * 3e-3 * 2.2e-3
    assert found.core.surface_area == pytest.approx(ends + side)
    assert found.core.contact == 5e-4
    ring = {"form": "ring", "diameter": 12, "hole_diameter": 4, "thickness": 1, "place": "bottom"}
    assert assembly(case([rod, ring], pocket=pocket)).core.surface_area == pytest.approx(ends + side)
    short = {**rod, "thickness": 0.8, "rise": 0}
    covered = assembly(case([short, plate()], pocket=pocket)).core.surface_area
    assert covered == pytest.approx(ends / 2)
    both = [short, plate(), plate(place="top")]
    assert assembly(case(both, pocket=pocket)).core.surface_area == pytest.approx(0.0, abs=1e-15)
    assert assembly(case([rod], pocket=pocket), "hot").core.contact == 1e-3
    assert assembly(case([{**rod, "rise": 4}], pocket=pocket)).core is None


def test_cores_of_a_face_are_one_body():
    small, large = plate(width=10, thickness=1), plate(width=20, thickness=2)
    found = assembly(case([small, large]))
    body = found.bottom
    assert found.top is None
    assert body.outline.area == pytest.approx(400e-6)
    assert body.thickness == pytest.approx(3e-3)
    assert body.density * body.outline.area * body.thickness == pytest.approx(7850 * (100e-9 + 800e-9))
    # The board of 380 mm² is joined through the small one's 100 mm² alone.
    assert body.contact == pytest.approx(5e-4 * math.pi * 11**2 / 100)
    assert "one body" in case([small, large]).figure("temperature").model


def test_base_plate_and_joints_come_from_the_mounting():
    base = {"shape": "round", "diameter": 40, "thickness": 3, "emissivity": 0.5}
    given = case(mounting={"contact": "foam-tape"}, **{"mounting.base_plate": base})
    found = assembly(given).bottom
    assert (found.contact, found.contact_range) == (5e-3, (3e-3, 1e-2))
    assert (found.conductivity, found.emissivity) == (167.0, 0.5)
    assert assembly(given, "cool").bottom.contact == 3e-3
    assert assembly(given, "hot").bottom.contact == 1e-2


def test_air_is_that_of_drive_and_mounting():
    air = assembly(
        case(drive={"ambient": 40}, mounting={"orientation": "vertical", "forced_convection": 30})
    ).surroundings
    assert (air.ambient, air.orientation, air.forced_coefficient) == (40.0, "vertical", 30.0)


def test_film_conducts_as_film():
    laminate = assembly(case(board=FLEX)).board.laminate
    assert (laminate.conductivity, laminate.conductivity_in_plane) == (0.15, 0.2)


def test_a_magnet_that_is_stuck_on_takes_heat_and_a_free_one_none():
    magnet = {"grade": "N42", "form": "ring", "diameter": 8, "hole_diameter": 2, "thickness": 3, "gap": 0.1}
    free, stuck = case(magnet=magnet), case(magnet={**magnet, "contact": "foam-tape"})
    assert assembly(free).top is None
    found = assembly(stuck).top
    assert (found.thickness, found.inner_radius, found.contact) == (3e-3, 1e-3, 5e-3)
    assert found.outline.area == pytest.approx(math.pi * 16e-6)
    assert (found.density, found.heat_capacity, found.conductivity) == (7500.0, 460.0, 8.0)
    assert stuck.value("temperature") < free.value("temperature")
    bodies = {row["body"]: row["temperature"] for row in stuck.value("body_temperatures")}
    assert 25 < bodies["magnet"] < bodies["hottest copper"]
    assert "on the axis" in stuck.figure("temperature").model


def test_time_constants_fall_and_the_first_is_of_the_whole():
    found = [row["time_constant"] for row in case().value("thermal_time_constants")]
    assert found == sorted(found, reverse=True)
    whole = case().value("thermal_time_constant")
    assert found[0] == pytest.approx(whole, rel=0.3)
