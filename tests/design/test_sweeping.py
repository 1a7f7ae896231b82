"""The [sweep] table: keys with the values they take, and what is refused of it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from small_design import SMALL

from coilgen.design.design import Design
from coilgen.design.key_paths import every_key, field_at
from coilgen.design.reading import read_text
from coilgen.errors import DesignError

MAGNET = '\n[magnet]\nform = "disc"\ndiameter = 6\nthickness = 2\ngrade = "N42"\ngap = 1\n'


def axes(lines: str, base: str = SMALL):
    return {axis.key: axis.choices for axis in read_text(f"{base}\n[sweep]\n{lines}\n").sweep}


def refusal(lines: str, base: str = SMALL) -> str:
    with pytest.raises(DesignError) as caught:
        axes(lines, base)
    return str(caught.value)


def test_a_design_without_the_table_varies_nothing() -> None:
    assert read_text(SMALL).sweep == ()


def test_choices_and_ranges_are_in_the_keys_own_unit_by_dotted_and_quoted_keys() -> None:
    assert axes('winding.turns = { from = 2, to = 4, step = 1 }\n"winding.trace_width" = ["6 mil", 0.2]') == {
        "winding.turns": (2.0, 3.0, 4.0),
        "winding.trace_width": (0.1524, 0.2),
    }
    assert axes('drive.ambient = { from = -20, to = "283.15 K", step = "10 K" }') == {
        "drive.ambient": (-20.0, -10.0, 0.0, 10.0)
    }
    assert axes("winding.layers = { from = 1, to = 2, step = 1 }") == {"winding.layers": (1, 2)}


@given(
    low=st.integers(-500, 500),
    step=st.integers(1, 50),
    count=st.integers(1, 40),
    rest=st.floats(0.0, 0.99),
)
def test_steps_of_a_range_are_exact_and_end_at_its_end(low: int, step: int, count: int, rest: float) -> None:
    """In hundredths of a degree: no rounding gathers on the way."""
    high = low + step * (count + rest)
    lines = f"drive.ambient = {{ from = {low / 100}, to = {high / 100:.9f}, step = {step / 100} }}"
    (values,) = axes(lines).values()
    expected = [
        round((low + k * step) / 100, 2) for k in range(count + 1) if -10000 <= low + k * step <= 30000
    ]
    assert [*values] == expected


def test_words_tables_and_leaving_out_are_choices() -> None:
    magnet = '{ form = "disc", diameter = 4, thickness = 1, grade = "N42", gap = 1 }'
    found = axes(f'rules.shop = ["flex-fine", "rigid-fine"]\nmagnet = [false, {magnet}]')
    assert found["rules.shop"] == ("flex-fine", "rigid-fine")
    assert found["magnet"][0] is None
    assert found["magnet"][1]["diameter"] == 4


def test_a_row_is_the_design_changed() -> None:
    swept = read_text(f"{SMALL}\n[sweep]\nwinding.turns = [2, 3]\n")
    base = swept.changed({"sweep": None})
    assert base == read_text(SMALL)
    assert base.changed({"winding.turns": swept.sweep[0].choices[1]}).winding.turns == 3


def test_resolved_values_and_variants_are_without_it() -> None:
    swept = read_text(f'{SMALL}\n[sweep]\nwinding.turns = [2, 3]\n[[variant]]\nname = "a"\nnote = "b"\n')
    assert "sweep" not in swept.resolved()
    assert Design.from_resolved(swept.resolved()).sweep == ()
    assert swept.variant[0].design.sweep == ()
    assert "variant 1.sweep: a variant sweeps nothing" in refusal(
        'winding.turns = [2, 3]\n[[variant]]\nname = "a"\nsweep.note = 1'
    )


@pytest.mark.parametrize(
    ("lines", "says"),
    [
        ("winding.turn = [1]", 'sweep.winding.turn: no such key; did you mean "winding.turns"?'),
        ("turns = [1]", 'did you mean "winding.turns"?'),
        ("drive.voltag = [1]", 'did you mean "drive.voltage"?'),
        ("zzz = [1]", "sweep.zzz: no such key"),
        ("winding.turns.x = [1]", "turns holds no keys of its own"),
        ("core.thickness = [1]", "write core.1 for the first"),
        ("core.1.thickness = [1]", "the design has no core 1"),
        ('name = ["a"]', "sweep.name: cannot be varied"),
        ('variant.name = ["a"]', "cannot be varied"),
        ("winding.turns = []", "sweep.winding.turns: an empty list"),
        ("winding.turns = 5", "neither a list nor a range"),
        ("winding.turns = [2, 0]", "sweep.winding.turns, value 2: 0 is outside"),
        ("winding.turns = [{ a = 1 }]", "a table is not a number"),
        ("winding.turns = [3, 2, 3.0]", "3 stands there twice"),
        ('winding.trace_width = ["1 furlong"]', '"furlong" is not a unit of length'),
        ('rules.shop = ["flex-fin"]', 'did you mean "flex-fine"?'),
        ("winding = [1]", "sweep.winding, value 1"),
        ("magnet = [{ diametr = 1 }]", 'magnet.diametr: no such key; did you mean "diameter"?'),
        ("winding.turns = { from = 5, to = 2, step = 1 }", "from 5 is not under to 2; turn them round"),
        ("winding.turns = { from = 5, to = 5, step = 1 }", "from 5 is not under to 5"),
        ("winding.turns = { from = 2, to = 5 }", "step not given"),
        ("winding.turns = { from = 2, to = 5, step = 0 }", "step 0 does not lead from 2 to 5"),
        ("winding.turns = { from = 2, to = 5, step = 9 }", "step 9 does not lead from 2 to 5"),
        ("winding.turns = { from = 2, to = 5, step = 1, by = 2 }", "by is no key of a range"),
        ("winding.layers = { from = 1, to = 2.5, step = 1 }", "to: 2.5 is not a whole number"),
        ("winding.turns = { from = 2, to = 900, step = 0.01 }", "89801 values; up to 10000"),
        ('winding.shape = { from = "round", to = "square" }', "holds no single number"),
        ("", "sweep: varies nothing"),
    ],
)
def test_what_is_wrong_is_told_at_its_key(lines: str, says: str) -> None:
    assert says in refusal(lines)


def test_all_faults_are_told_at_once_with_those_of_the_design() -> None:
    said = refusal("winding.turn = [1]\ndrive.voltage = []", SMALL.replace("turns = ", "turns = 0 # "))
    assert {line.partition(":")[0] for line in said.splitlines()} >= {
        "winding.turns",
        "sweep.winding.turn",
        "sweep.drive.voltage",
    }


def test_too_many_combinations_are_refused() -> None:
    said = refusal(
        "winding.turns = { from = 1, to = 900, step = 0.1 }\n"
        "drive.voltage = { from = 1, to = 900, step = 0.1 }\n"
    )
    assert said == "sweep: 80838081 combinations; up to 10000000 are allowed: take wider steps"


def test_every_key_of_a_design_is_found_by_its_dotted_name() -> None:
    keys = every_key(Design)
    assert len(keys) > 100
    for key in keys:
        assert field_at(Design, key) is not None, key


@given(
    key=st.text(min_size=1, max_size=30), value=st.one_of(st.none(), st.integers(), st.text(), st.just([]))
)
def test_nothing_written_there_is_more_than_a_fault(key: str, value: object) -> None:
    tables = {"name": "a", "winding": {"shape": "round"}, "sweep": {key: value}}
    with pytest.raises(DesignError):
        Design.from_tables(tables)


def test_a_size_of_one_number_or_two_has_a_range() -> None:
    vary = read_text(f"{SMALL}\n[sweep]\nwinding.outer_size = {{ from = 16, to = 18, step = 1 }}\n").sweep
    assert vary[0].choices == (16.0, 17.0, 18.0)
