"""Copper layers against shop and stack-up."""

from boards import blank_art, coil_of, pad, read_design, straight

from coilgen.rules.layer_count import RULE


def check(more="", **fields):
    art = blank_art(**fields)
    return list(RULE.check(read_design(more), coil_of(art.traces), art))


def test_layers_within_shop_and_stackup_pass():
    assert check(traces=(straight(0, 5, layer=2),)) == []


def test_more_layers_than_the_shop_builds_are_found():
    (found,) = check("[rules]\nlayer_count = 1\n")
    assert (found.value, found.limit, found.unit) == (2.0, 1.0, "1")
    assert "shop" in found.says


def test_copper_on_layers_the_stackup_lacks_is_found():
    assert "has 2" in check(traces=(straight(0, 5, layer=3),))[0].says
    assert check(pads=(pad(0, layer=4),))[0].value == 4.0
    assert check(copper_layers=6)[0].value == 6.0
