"""The package as a notebook's user meets it: names, changes of a design, short texts, columns."""

import json
import pickle
from typing import Any

import numpy as np
import pytest
from small_design import SMALL

import coilgen
from coilgen.catalogue import templates

DESIGNS = {name: coilgen.read_text(text) for name, text in templates().items()}


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> coilgen.Result:
    """A small design, made from its path."""
    path = tmp_path_factory.mktemp("designs") / "small.toml"
    path.write_text(SMALL)
    return coilgen.make(str(path))


def test_dir_shows_what_there_is() -> None:
    assert set(coilgen.__all__) <= set(dir(coilgen))


class TestChanges:
    def test_are_read_anew(self) -> None:
        design = DESIGNS["optical-shutter"]
        changed = design.changed({"winding.turns": 12, "drive.voltage": "1.2 V"})
        assert (changed.winding.turns, changed.drive.voltage) == (12, 1.2)
        assert changed.winding.inner_size > design.winding.inner_size
        assert design.changed() == design

    def test_reach_into_lists_and_leave_keys_out(self) -> None:
        latch = DESIGNS["specimen-drawer-latch"]
        assert latch.changed({"core.2.gap": 0.3}).core[1].gap == pytest.approx(0.3e-3)
        assert len(latch.changed({"core.2": None}).core) == len(latch.core) - 1
        assert latch.changed(target=None).target is None

    @pytest.mark.parametrize("name", DESIGNS)
    def test_of_sizes_are_free_after_a_round_trip(self, name: str) -> None:
        design = coilgen.Design.from_resolved(DESIGNS[name].resolved())
        several = bool(design.windings) and design.array is None
        changed = design.changed({"winding.1.turns" if several else "winding.turns": 3})
        found = [each.design for each in changed.windings] or [changed]
        assert {each.winding.turns for each in (found[:1] if several else found)} == {3}

    def test_that_do_not_fit_are_told_like_a_files(self) -> None:
        with pytest.raises(coilgen.DesignError) as caught:
            DESIGNS["optical-shutter"].changed({"winding.turns": 0, "drive.volts": 3})
        assert [fault.key for fault in caught.value.faults] == ["winding.turns", "drive.volts"]

    @pytest.mark.parametrize("key", ["core.3.gap", "core.one.gap", "name.first", "winding.turns.much"])
    def test_lead_somewhere(self, key: str) -> None:
        with pytest.raises(coilgen.DesignError, match=key):
            DESIGNS["specimen-drawer-latch"].changed({key: 1})

    def test_unchecked_copies_are_refused(self) -> None:
        with pytest.raises(TypeError, match="changed"):
            DESIGNS["optical-shutter"].model_copy(update={"turns": 12})


@pytest.mark.parametrize("name", DESIGNS)
def test_a_design_goes_through_json(name: str) -> None:
    design = DESIGNS[name]
    back = coilgen.Design.from_resolved(json.loads(json.dumps(design.resolved())))
    assert back.resolved() == {**design.resolved(), "variant": []}
    alone: dict[str, Any] = {"variant": (), "sweep": (), "optimize": None}
    assert back.unchecked(**alone) == design.unchecked(**alone)


def test_anything_else_than_a_design_is_refused() -> None:
    with pytest.raises(TypeError, match="path of a design file, not a dict"):
        coilgen.make({})


class TestResult:
    def test_texts_are_short(self, made: coilgen.Result) -> None:
        for shown in (made, made.design, made.figures, made.coil, made.art, *made.figures.values()):
            assert len(repr(shown)) < 300

    def test_figures_are_attributes_too(self, made: coilgen.Result) -> None:
        assert made.figures.inductance is made.figures["inductance"]
        assert "inductance" in dir(made.figures)
        with pytest.raises(AttributeError, match="inductance"):
            made.figures.inductanse  # noqa: B018 - the refusal is the test
        assert pickle.loads(pickle.dumps(made.figures)).keys() == made.figures.keys()

    def test_pictures_and_tables_for_a_notebook(self, made: coilgen.Result) -> None:
        assert made._repr_svg_() == made.files["small.svg"].decode()
        page = made.figures._repr_html_()
        assert page.count("<tr>") == len(made.figures) + 1
        assert "inductance" in page

    def test_tables_are_columns(self, made: coilgen.Result) -> None:
        figure = made.figures.impedance
        assert set(figure.columns) == set(figure.units)
        assert figure.units["frequency"] == "Hz"
        assert figure.columns["resistance"] == pytest.approx([row["resistance"] for row in figure.value])
        assert made.figures.layer_inductances.array.shape == (2, 2)
        assert made.figures.equivalent_circuit.columns["element"].dtype.kind == "U"

    def test_every_table_has_all_its_columns_and_nothing_else_has_any(self, made: coilgen.Result) -> None:
        for each in made.figures.values():
            if each.unit.startswith("table("):
                assert {len(column) for column in each.columns.values()} == {len(each.value)}
                assert all(isinstance(column, np.ndarray) for column in each.columns.values())
                with pytest.raises(TypeError, match="columns"):
                    _ = each.array
            else:
                with pytest.raises(TypeError, match="no table"):
                    _ = each.columns
