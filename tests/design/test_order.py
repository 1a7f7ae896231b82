"""The order form and the revision: what may be written, what is refused, what an open via changes."""

import pytest
from small_design import faults_with, small_with

from coilgen.design.order import Order
from coilgen.job import draw


def test_everything_may_be_left_out():
    order = small_with().order
    assert (order.ipc_class, order.delivery, order.vias) == (2, "single", "tented")
    assert order.finish is order.tg is order.quantity is None


def test_quantities_are_read_with_their_units():
    order = small_with(order={"tg": 150, "pocket_tolerance": "0.1 mm", "copper_tolerance": 0.1}).order
    assert (order.tg, order.pocket_tolerance, order.copper_tolerance) == (150.0, pytest.approx(1e-4), 0.1)


@pytest.mark.parametrize(
    ("key", "given", "told"),
    [
        ("finish", "gold", 'order.finish: "gold" is not known'),
        ("ipc_class", 1, "order.ipc_class: 1 is outside what is allowed, 2 to 3"),
        ("vias", "plugged", 'order.vias: "plugged" is not known'),
        ("quantity", 0, "order.quantity: 0 is outside what is allowed"),
        ("thickness_tolerance", 10, "order.thickness_tolerance: 10 is outside what is allowed"),
        ("colour", "green", "order.colour: no such key"),
    ],
)
def test_what_an_order_refuses(key, given, told):
    (fault,) = faults_with(order={key: given})
    assert fault.startswith(told)


def test_the_revision_is_a_short_word():
    assert small_with().revision == "A"
    assert small_with(revision="B-2").revision == "B-2"
    (fault,) = faults_with(revision="second try")
    assert fault.startswith('revision: "second try" marks the board; use 1 to 16 of the letters')


def test_open_vias_are_bare_on_both_faces():
    coil, art = draw(small_with(order={"vias": "open"}))
    opened = [opening.side for opening in art.openings if opening.at == coil.vias[0].at]
    assert opened == ["top", "bottom"]
    for vias in ("tented", "filled"):
        coil, art = draw(small_with(order={"vias": vias}))
        assert not {opening.at for opening in art.openings} & {via.at for via in coil.vias}


def test_every_key_has_words_for_the_schema():
    assert all(field.description for field in Order.model_fields.values())


def test_the_legend_tells_the_revision_where_there_is_room():
    def strokes(revision):
        return len(draw(small_with(revision=revision, board={"outline": "round", "size": 40}))[1].legend)

    assert strokes("AA") > strokes("A")
