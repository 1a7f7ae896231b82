"""A plate's network keeps areas, heat capacity and resistance; its conduction is exact where it can be."""

from dataclasses import replace

import numpy as np
import pytest
from plate_cases import LAMINATE, circle, coil, plate, rectangle, steel, turned, wound

from coilgen.physics.heat.body import COPPER_CONDUCTIVITY, COPPER_HEAT_CAPACITY, PocketCore, Surroundings
from coilgen.physics.heat.plate.body import Circuit, PlacedCore, SheetLayer
from coilgen.physics.heat.plate.copper import fillings, sheet, turns
from coilgen.physics.heat.plate.grid import grid, patch
from coilgen.physics.heat.plate.network import plate_network
from coilgen.physics.heat.plate.stiffness import laplacian, spreading
from coilgen.physics.heat.sheet_conduction import islands_conductivity

BOARD = rectangle(60e-3, 30e-3)
HOLE = circle(2e-3, (15e-3, 0.0))
ROD = PocketCore(contact_area=2e-5, contact=2e-4, heat_capacity=1.5, surface_area=1e-4)


def laden():
    """Three layers, two windings, a hole with a rod, a base plate wider than the board, a disc on its top."""
    return replace(
        plate(BOARD, coil((-15e-3, 0.0), layers=3), coil((15e-3, 0.0), layers=3), layers=3),
        cutouts=(HOLE,),
        bodies=(steel(rectangle(80e-3, 40e-3)), steel(circle(8e-3, (-15e-3, 0.0)), "top", "disc")),
        cores=(PlacedCore(name="rod", wall=HOLE, core=ROD),),
    )


def faces_of(net):
    """Area of each face without the number of its island and its skirt."""
    found = {}
    for name, area in zip(net.faces, net.face_area.sum(axis=1), strict=True):
        word = name.split(",")[0]
        found[word] = found.get(word, 0.0) + area
    return found


def test_areas_are_the_bodys():
    board = 60e-3 * 30e-3 - np.pi * 2e-3**2
    faces = faces_of(plate_network(laden()))
    assert faces["board top"] == pytest.approx(board - np.pi * 8e-3**2, rel=1e-3)
    assert "board bottom" not in faces
    assert faces["base"] == pytest.approx(80e-3 * 40e-3)
    assert faces["base's back"] == pytest.approx(80e-3 * 40e-3 - 60e-3 * 30e-3)
    assert faces["board's rim"] == pytest.approx(180e-3 * laden().thickness)
    assert faces["disc's rim"] == pytest.approx(2 * np.pi * 8e-3 * 2e-3, rel=1e-3)
    assert faces["rod"] == pytest.approx(1e-4)


def test_convection_counts_as_much_as_the_islands_area():
    net = plate_network(plate(circle(20e-3), coil(outer=19e-3)))
    assert net.film_area.sum(axis=1) == pytest.approx(net.face_area.sum(axis=1), rel=2e-2)


def test_capacity_and_resistance_are_the_bodys():
    net = plate_network(laden())
    assert net.resistance_20c.sum(axis=1) == pytest.approx([5.0, 5.0])
    assert net.capacity[net.parts["rod"]].sum() == pytest.approx(1.5)
    assert net.capacity[net.parts["base"]].sum() == pytest.approx(80e-3 * 40e-3 * 2e-3 * 7850 * 470)
    copper = 3 * 35e-6 * 0.5 * 2 * np.pi * (10e-3**2 - 2.5e-3**2) * COPPER_HEAT_CAPACITY
    board = 1.5e-3 * (60e-3 * 30e-3 - np.pi * 2e-3**2) * LAMINATE.density * LAMINATE.heat_capacity
    assert net.capacity[net.parts["board"]].sum() == pytest.approx(board + copper, rel=2e-3)


def test_conduction_is_symmetric_and_makes_no_heat():
    net = plate_network(laden())
    even = net.conductance @ np.ones(len(net.capacity))
    assert np.abs(even).max() < 1e-12 * net.conductance.max()
    assert abs(net.conductance - net.conductance.T).max() < 1e-12 * net.conductance.max()


def test_an_even_gradient_flows_as_the_tensor_says():
    """Any field that is linear in x and y: its heat dissipated is area g·K g, on cells of any size."""
    board = replace(plate(rectangle(40e-3, 20e-3), coil()), cutouts=(rectangle(4e-3, 6e-3, (12e-3, 0.0)),))
    lines = grid(board)
    own = patch(lines, board.outline, board.cutouts)
    tensor = np.array([3.0, 2.0, 1.2])
    matrix = laplacian([spreading(lines, own, np.broadcast_to(tensor, (*own.area.shape, 3)), 0)], own.count)
    slope = np.array([0.7, -1.9])
    field = own.places @ slope
    flow = slope @ np.array([[3.0, 1.2], [1.2, 2.0]]) @ slope
    assert field @ (matrix @ field) == pytest.approx((40e-3 * 20e-3 - 4e-3 * 6e-3) * flow)


def test_sheets_conduct_along_turns_and_less_across_them():
    bar = wound(turned(rectangle(40e-3, 8e-3), 0.5), coverage=0.5)
    board = plate(rectangle(60e-3, 60e-3), bar)
    lines = grid(board)
    own = patch(lines, board.outline)
    filling = next(fillings(board, lines, own, [turns(lines, own, bar)]))
    here = np.abs(lines.middles).sum(axis=2).argmin()
    xx, yy, xy = sheet(board.layers[0], filling, 1.0, 0.8).reshape(-1, 3)[here]
    along, across = np.linalg.eigvalsh([[xx, xy], [xy, yy]])[::-1]
    assert along == pytest.approx(0.8 + 35e-6 * (0.5 * COPPER_CONDUCTIVITY + 0.5 * 0.8))
    assert across == pytest.approx(0.8 + 35e-6 / (0.5 / COPPER_CONDUCTIVITY + 0.5 / 0.8))
    assert np.tan(0.5) == pytest.approx((along - xx) / xy, rel=1e-6)


def test_pours_and_pads_conduct_where_no_turns_lie():
    layer = SheetLayer(thickness=70e-6, island_coverage=0.3, pours=(rectangle(20e-3, 60e-3, (20e-3, 0.0)),))
    board = replace(plate(rectangle(60e-3, 60e-3), coil()), layers=(layer, layer))
    lines = grid(board)
    own = patch(lines, board.outline)
    filling = next(fillings(board, lines, own, [turns(lines, own, board.windings[0])]))
    found = sheet(layer, filling, 0.0, 0.8)[..., 0] / 70e-6
    assert found[0, -1] == pytest.approx(COPPER_CONDUCTIVITY)
    assert found[0, 0] == pytest.approx(islands_conductivity(0.8, COPPER_CONDUCTIVITY, 0.3))
    poured = (filling.poured * own.area).sum()
    assert poured == pytest.approx(20e-3 * 60e-3, rel=1e-9)


def test_windings_far_apart_warm_islands_of_their_own():
    far = plate_network(plate(rectangle(120e-3, 30e-3), coil((-40e-3, 0.0)), coil((40e-3, 0.0))))
    near = plate_network(plate(rectangle(120e-3, 30e-3), coil((-11e-3, 0.0)), coil((11e-3, 0.0))))
    assert sum("island" in name and "top" in name and "skirt" not in name for name in far.faces) == 2
    assert not any("island" in name for name in near.faces)
    assert far.shown.breadth.min() < 0.8 * near.shown.breadth.min()


def test_only_heated_windings_warm_an_island():
    board = plate(rectangle(120e-3, 30e-3), coil((-40e-3, 0.0)), coil((40e-3, 0.0)), heated=(0,))
    assert not any("island" in name for name in plate_network(board).faces)


def far(**change):
    return replace(plate(BOARD, coil()), **change)


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        (lambda: plate(BOARD, coil(layers=3)), "for every layer"),
        (lambda: plate(BOARD), "one winding at least"),
        (lambda: far(dielectric=(0.0,)), "thickness must be positive"),
        (lambda: far(outline=BOARD[:2]), "three points"),
        (lambda: far(heated=(1,)), "by their numbers"),
        (lambda: far(heated=()), "by their numbers"),
        (lambda: far(bodies=(steel(BOARD), steel(BOARD, "top"))), "name of its own"),
        (lambda: plate_network(plate(BOARD, coil((1.0, 0.0)))), "lies on the board"),
        (lambda: wound(BOARD, coverage=1.2), "from 0 to 1"),
        (lambda: wound(BOARD, ohm=0.0), "resistance must be positive"),
        (lambda: steel(BOARD, contact_band=(1.0, 2.0)), "lie in its band"),
        (lambda: SheetLayer(thickness=-1.0), "not be negative"),
        (lambda: Circuit(supply=None, windings=(0, 0)), "each once"),
    ],
)
def test_what_cannot_be_is_refused(wrong, says):
    with pytest.raises(ValueError, match=says):
        wrong()


def test_forced_air_takes_the_same_everywhere():
    net = plate_network(plate(BOARD, coil(), air=Surroundings(forced_coefficient=20.0)))
    assert abs(net.film_area - net.face_area).max() == 0.0
