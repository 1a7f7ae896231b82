"""Variants: what a change does to the tables, and whose fault is told where."""

import copy

import pytest
from hypothesis import given
from hypothesis import strategies as st
from small_design import SMALL, TABLES, faults_with, small_with

from coilgen.design.reading import read_tables, read_text
from coilgen.design.variants import MOST, varied
from coilgen.errors import DesignError

MAGNET = {"diameter": 5, "thickness": 2, "gap": 0.5, "grade": "N42"}
CORE = {"width": 10, "thickness": 1}


def made(base, *variants):
    """Tables of each variant, which must be without a fault of their own."""
    found, faults = varied(base, list(variants), base)
    assert faults == []
    return [each.tables for each in found]


def only(**tables):
    """The design of a single variant."""
    (variant,) = small_with(**tables).variant
    return variant.design


class TestMerging:
    def test_a_variant_changes_the_keys_it_names_at_any_depth(self):
        base = {"a": {"b": {"c": 1, "d": 2}, "e": 3}, "f": 4}
        assert made(base, {"name": "x", "a": {"b": {"c": 9}}}, {"name": "y", "f": 5}) == [
            {"a": {"b": {"c": 9, "d": 2}, "e": 3}, "f": 4},
            {"a": {"b": {"c": 1, "d": 2}, "e": 3}, "f": 5},
        ]

    def test_a_list_is_replaced_whole(self):
        base = {"core": [{"width": 1}, {"width": 2}]}
        assert made(base, {"name": "x", "core": [{"width": 3}]}) == [{"core": [{"width": 3}]}]
        assert made(base, {"name": "x", "core": []}) == [{"core": []}]

    def test_another_kind_of_value_replaces_a_table(self):
        base = {"board": {"stackup": {"copper": [1]}}}
        assert made(base, {"name": "x", "board": {"stackup": "flex-2-layer"}}) == [
            {"board": {"stackup": "flex-2-layer"}}
        ]

    def test_without_leaves_out_tables_and_keys(self):
        base = {"magnet": {"gap": 1}, "drive": {"voltage": 3, "duty": 0.5}, "a": {"b": {"c": 1, "d": 2}}}
        assert made(base, {"name": "x", "without": ["magnet", "drive.voltage", "a.b.c"]}) == [
            {"drive": {"duty": 0.5}, "a": {"b": {"d": 2}}}
        ]

    def test_what_is_left_out_may_be_given_anew(self):
        """Left out first, then changed: a table can be replaced whole."""
        assert made(
            {"board": {"stackup": {"copper": [1]}}},
            {"name": "x", "without": ["board"], "board": {"outline": "none"}},
        ) == [{"board": {"outline": "none"}}]

    @given(
        st.recursive(
            st.integers(),
            lambda inner: st.dictionaries(st.sampled_from("abcd"), inner, max_size=3),
        ).filter(lambda found: isinstance(found, dict)),
        st.recursive(
            st.integers(),
            lambda inner: st.dictionaries(st.sampled_from("abcd"), inner, max_size=3),
        ).filter(lambda found: isinstance(found, dict)),
    )
    def test_the_base_stays_as_it_is_and_a_change_made_twice_is_made_once(self, base, changes):
        before = copy.deepcopy(base)
        found, faults = varied(base, [{"name": "x", **changes}], "abcd")
        assert (base, faults) == (before, [])
        (again,) = varied(found[0].tables, [{"name": "x", **changes}], "abcd")[0]
        assert again.tables == found[0].tables
        (none,) = varied(base, [{"name": "x"}], "abcd")[0]
        assert none.tables == base


class TestDesigns:
    def test_each_variant_is_a_whole_design(self):
        design = small_with(
            core=[CORE],
            magnet=MAGNET,
            variant=[
                {"name": "bare", "without": ["core", "magnet"]},
                {"name": "thick, 4 mm", "core": [{**CORE, "thickness": 4}], "magnet": {"gap": 3}},
            ],
        )
        bare, thick = design.variant
        assert (bare.name, thick.name) == ("bare", "thick, 4 mm")
        assert bare.design == small_with()
        assert thick.design.core[0].thickness == 4e-3
        assert (thick.design.magnet.gap, thick.design.magnet.grade) == (3e-3, "N42")
        assert (bare.design.variant, bare.design.name) == ((), "small")
        assert design.resolved()["variant"] == ["bare", "thick, 4 mm"]

    def test_defaults_follow_the_change(self):
        """A variant is merged as written, before anything is filled in."""
        assert only(variant=[{"name": "a", "winding": {"layers": 4}}]).board.stackup.layers == 4
        assert (
            only(variant=[{"name": "a", "board": {"stackup": "flex-2-layer"}}]).rules.shop == "flex-standard"
        )

    def test_one_drive_for_another(self):
        design = only(
            drive={"voltage": 3},
            variant=[{"name": "a", "without": ["drive.voltage"], "drive": {"current": "0.2 A"}}],
        )
        assert (design.drive.voltage, design.drive.current) == (None, 0.2)

    @pytest.mark.parametrize(
        "written",
        [
            'variant = [{ name = "x", drive = { voltage = 3 }, core = [{ width = 9, thickness = 1 }] }]',
            '[[variant]]\nname = "x"\n[variant.drive]\nvoltage = 3\n[[variant.core]]\nwidth = 9\n'
            "thickness = 1",
            '[[variant]]\nname = "x"\ndrive.voltage = 3\ncore = [{ width = 9, thickness = 1 }]',
        ],
    )
    def test_every_spelling_of_toml_is_the_same(self, written):
        (variant,) = read_text(f"{written}\n{SMALL}" if written[0] != "[" else f"{SMALL}\n{written}").variant
        assert (variant.name, variant.design.drive.voltage) == ("x", 3.0)
        assert variant.design.core[0].width == 9e-3


class TestFaults:
    @pytest.mark.parametrize(
        ("variant", "told"),
        [
            ({}, "variant 2.name: not given; give 1 to 64 letters on one line"),
            ({"name": ""}, 'variant 2.name: "" is no name; give 1 to 64 letters on one line'),
            ({"name": "a\nb"}, 'variant 2.name: "a?b" is no name; give 1 to 64 letters on one line'),
            ({"name": "b "}, 'variant 2.name: "b " begins or ends with a space; leave that out'),
            ({"name": 3}, "variant 2.name: 3 is no name; give 1 to 64 letters on one line"),
            ({"name": "first"}, 'variant 2.name: "first" names an earlier variant too; choose another'),
            (
                {"name": "b", "variant": [{"name": "c"}]},
                "variant 2.variant: a variant has no variants; put it beside this one",
            ),
            (
                {"name": "b", "without": "drive"},
                'variant 2.without: "drive" is not a list of keys; write them in square brackets, as '
                '["winding.shape"]',
            ),
            (
                {"name": "b", "without": ["magnet"]},
                'variant 2.without: "magnet" is no key of this design; name one, such as "winding.shape"',
            ),
            (
                {"name": "b", "without": [3]},
                'variant 2.without: 3 is no key of this design; name one, such as "winding.shape"',
            ),
            (
                {"name": "b", "without": ["name"]},
                'variant 2.without: "name" is no key of this design; name one, such as "winding.shape"',
            ),
            ({"name": "b", "withuot": []}, 'variant 2.withuot: no such key; did you mean "without"?'),
            ({"name": "b", "wnding": {}}, 'variant 2.wnding: no such key; did you mean "winding"?'),
            (
                {"name": "b", "voltage": 3},
                "variant 2.voltage: no such key here; it belongs in [drive] or [tolerance]",
            ),
            (
                {"name": "b", "winding": {"turns": 0}},
                "variant 2.winding.turns: 0 is outside what is allowed, 1 to 1000",
            ),
            (
                {"name": "b", "core": [CORE, {**CORE, "thickness": 0}]},
                "variant 2.core 2.thickness: 0 mm is outside what is allowed, 0.001 mm to 2000 mm",
            ),
            (
                {"name": "b", "magnet": {"gap": 1, "diameter": 3, "grade": "N35"}},
                "variant 2.magnet.thickness: not given; add it: along z, from face to face",
            ),
            (
                {"name": "b", "without": ["winding"]},
                "variant 2.winding: not given; add a [winding] table with shape and four of its five numbers",
            ),
            (3, "variant 2: 3 is not a table; write each variant as [[variant]]"),
        ],
    )
    def test_each_is_one_line_at_the_variants_key(self, variant, told):
        assert faults_with(variant=[{"name": "first"}, variant]) == [told]

    def test_a_key_of_no_table_is_told_what_there_is(self):
        (told,) = faults_with(variant=[{"name": "b", "design": {}}])
        assert told.startswith("variant 1.design: no such key; use name, note, winding, ")

    def test_a_design_without_tables_has_keys_to_name_too(self):
        with pytest.raises(DesignError) as caught:
            read_tables({"name": "a", "variant": [{"name": "b", "without": ["x"]}]})
        told = [str(fault) for fault in caught.value.faults]
        assert told[-1] == 'variant 1.without: "x" is no key of this design; name one, such as "magnet"'

    def test_of_a_variant_all_are_told(self):
        assert [
            line.partition(":")[0]
            for line in faults_with(variant=[{"without": ["xyzzy"], "drive": {"duty": 2}, "core": [{}]}])
        ] == ["variant 1.name", "variant 1.without", "variant 1.drive.duty", "variant 1.core 1.thickness"]

    def test_a_fault_of_the_base_is_told_once(self):
        variants = [{"name": "a"}, {"name": "b", "magnet": {"gap": 3}}]
        assert faults_with(magnet={**MAGNET, "grade": "N41"}, variant=variants) == [
            'magnet.grade: "N41" is not known; did you mean "N42"?'
        ]

    def test_a_variant_that_mends_the_base_does_not_hide_its_fault(self):
        (told,) = faults_with(
            magnet={**MAGNET, "grade": "N41"}, variant=[{"name": "a", "magnet": {"grade": "N42"}}]
        )
        assert told.startswith("magnet.grade: ")

    @pytest.mark.parametrize("given", [3, "a", {"name": "a"}, True])
    def test_variants_are_a_list(self, given):
        (told,) = faults_with(variant=given)
        assert told.startswith("variant: ")
        assert told.endswith("is no list of tables; write each variant as [[variant]], in double brackets")

    def test_there_is_an_end_to_their_number(self):
        many = [{"name": f"variant {number}"} for number in range(MOST + 1)]
        assert faults_with(variant=many) == [f"variant: {MOST + 1} given; up to {MOST} are allowed"]
        assert len(small_with(variant=many[:3]).variant) == 3


KEYS = st.sampled_from(["name", "without", "winding", "drive", "core", "magnet", "voltage", "variant", "zz"])
VALUES = st.recursive(
    st.none()
    | st.integers()
    | st.floats()
    | st.text(max_size=4)
    | st.sampled_from(["drive", "winding.turns"]),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(KEYS, inner, max_size=3),
)


@given(VALUES | st.lists(st.dictionaries(KEYS, VALUES, max_size=4), max_size=3))
def test_any_variants_are_read_or_told(variants):
    try:
        design = read_tables({**TABLES, "variant": variants})
    except DesignError as error:
        assert all(fault.key.partition(" ")[0].partition(".")[0] == "variant" for fault in error.faults)
        assert all(str(fault).isprintable() for fault in error.faults)
    else:
        assert len(design.variant) == len(variants)


def test_a_long_list_of_keys_is_one_fault():
    _, found = varied({"name": "a"}, [{"name": "b", "without": ["x"] * 50_000}], ("name",))
    assert [str(fault) for fault in found] == ["variant 1.without: 50000 keys given; up to 100 are allowed"]
