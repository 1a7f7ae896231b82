"""The notes tell the fab what the result says: every question answered or named open, a test that works."""

import re
from dataclasses import replace

import pytest
from small_design import small_with

from coilgen.design.order import Order
from coilgen.exports.fab import drill, gerber, gerber_job, netlist
from coilgen.exports.fab._electrical_test import CLEAR, acceptance, best_reading
from coilgen.exports.fab.fabrication_notes import EXPORT
from coilgen.job import predict
from coilgen.result.rule import Finding

OPEN = "OPEN: the buyer's choice"


def notes(result):
    ((path, content),) = EXPORT.files(result).items()
    assert path == f"fab/{result.design.name}-fabrication-notes.md"
    return content.decode()


def section(result, title):
    (found,) = [part for part in re.split(r"^## ", notes(result), flags=re.M) if part.startswith(title)]
    return found


def rows(result, title):
    """Cells of a section's table, its head left out."""
    lines = [line for line in section(result, title).splitlines() if line.startswith("|")]
    return [tuple(cell.strip() for cell in line.strip("|").split("|")) for line in lines[2:]]


def answers(result):
    return {question: (answer, who) for question, answer, who in rows(result, "Order")}


def ordered(result, **keys):
    return replace(result, design=result.design.unchecked(order=Order(**keys)))


def with_figure(result, name, **changes):
    figures = {**result.figures, name: replace(result.figures[name], **changes)}
    return replace(result, figures=figures)


def test_the_first_line_says_where_file_functions_stand(result):
    first = notes(result).splitlines()[0]
    assert first.startswith("File functions stand in each file's X2 attributes and in the job file")
    assert f"`{result.design.name}.gbrjob`" in first


def test_the_board_is_named_with_its_revision_and_identity(two_layers):
    assert "# Fabrication notes: optical-shutter, revision A" in notes(two_layers)
    (header,) = {
        re.search(r"ProjectId,[^,]+,([^,]+)", g.decode())[1] for g in gerber.EXPORT.files(two_layers).values()
    }
    assert header in notes(two_layers)


def test_every_question_has_an_answer_and_somebody_who_decides(result):
    told = rows(result, "Order")
    assert len(told) == (26 if result.design.board.stackup.flexible else 24)
    assert len({question for question, _, _ in told}) == len(told)
    assert all(answer for _, answer, _ in told)
    deciders = {"fixed by the design", "fixed by the order", "free to the fab", OPEN}
    assert {who for _, _, who in told} <= deciders


def test_what_is_open_is_named_and_an_order_closes_it(two_layers):
    still = [question for question, (_, who) in answers(two_layers).items() if who == OPEN]
    assert still == ["quantity", "copper tolerance", "surface finish"]
    assert f"To settle with the buyer: {', '.join(still)}." in notes(two_layers)
    whole = ordered(two_layers, finish="enig", copper_tolerance=0.1, quantity=50)
    assert OPEN not in notes(whole)
    assert "Everything is answered above" in notes(whole)


def test_the_order_is_told(two_layers):
    told = answers(
        ordered(
            two_layers,
            finish="osp",
            soldermask_colour="blue",
            legend_colour="yellow",
            ipc_class=3,
            thickness_tolerance=0.08,
            copper_tolerance=0.1,
            tg=170.0,
            hole_tolerance="0.05 mm",
            pocket_tolerance=0.1,
            delivery="panel",
            quantity=12,
            vias="filled",
        )
    )
    assert told["surface finish"][0].endswith("(OSP)")
    assert "blue" in told["solder mask"][0]
    assert "yellow" in told["legend"][0]
    assert told["performance class"] == ("IPC-6012 class 3", "fixed by the order")
    assert told["board thickness"][0].endswith("+/- 8 %")
    assert told["copper tolerance"] == ("no thinner than 90 % of it", "fixed by the order")
    assert told["glass transition (Tg)"] == ("170 degC or more", "fixed by the order")
    assert told["holes"][0].endswith("+/- 0.05 mm")
    assert "+/- 0.1 mm" in told["cut-out"][0]
    assert "panel" in told["delivery"][0]
    assert told["quantity"][0] == "12 boards"
    assert told["vias"][0].startswith("filled")


def test_pocket_and_outline_in_the_words_of_a_drawing(two_layers, four_layers):
    assert answers(two_layers)["cut-out"][0].startswith(
        "round, 3.0 mm diameter, through the board; not plated"
    )
    hexagon = answers(four_layers)["cut-out"][0]
    assert hexagon.startswith("hexagon, 3.0 mm across flats, inner corner radius 0.5 mm")
    assert answers(two_layers)["outline"][0].startswith("round, 24.0 mm diameter")
    assert answers(four_layers)["outline"][0].startswith("26.0 mm x 24.0 mm, corner radius 2.0 mm")


def test_openings_are_told_by_side(four_layers, flexible):
    bare = replace(
        four_layers,
        art=replace(four_layers.art, openings=tuple(o for o in four_layers.art.openings if o.side == "top")),
    )
    top, bottom = answers(bare)["openings in the solder mask"][0].split("; ")
    assert top == "top: 2 of 1.9 mm diameter"
    assert bottom == "bottom: none is meant, its file is empty"
    assert "the bottom is bare" in answers(flexible)["coverlay"][0]


@pytest.mark.parametrize(("settled", "least"), [(60.0, 130), (104.0, 130), (121.0, 150)])
def test_the_laminates_glass_transition_follows_the_designs_heat(two_layers, settled, least):
    """25 K over the hottest copper, rounded up to ten: common practice, no source."""
    figure = replace(two_layers.figures["inductance"], name="temperature", unit="degC", value=settled)
    hot = replace(two_layers, figures={**two_layers.figures, "temperature": figure})
    assert answers(hot)["glass transition (Tg)"][0].startswith(f"{least} degC or more")


def test_a_drive_that_no_laminate_bears_leaves_its_question_open(two_layers):
    """No fab can supply glass and epoxy with a transition of 350 degC; nor does flex bear 150 degC."""
    figure = replace(two_layers.figures["inductance"], name="temperature", unit="degC", value=324.0)
    told, who = answers(replace(two_layers, figures={**two_layers.figures, "temperature": figure}))[
        "glass transition (Tg)"
    ]
    assert "324 degC, more than such a board bears" in told and "350" not in told
    assert who.startswith("OPEN")


def test_stackup_adds_up(result):
    stackup = result.design.board.stackup
    scale = {"um": 1e-6, "mm": 1e-3}
    sheets = rows(result, "Stack-up")
    whole = sum(float(t.split()[0]) * scale[t.split()[1]] for _, t, _ in sheets)
    assert whole == pytest.approx(stackup.finished_thickness, abs=1e-6)
    assert sum("copper" in sheet for sheet, _, _ in sheets) == stackup.layers


def test_hole_table_counts_every_hole(result):
    counted = [] if not result.art.holes else [int(count) for _, count, _, _ in rows(result, "Holes")]
    assert sum(counted) == len(result.art.holes)


def test_it_names_every_file_of_the_set_and_no_other(result):
    written = {
        path.removeprefix("fab/")
        for export in (gerber, drill, netlist, gerber_job)
        for path in export.EXPORT.files(result)
    }
    own = f"{result.design.name}-fabrication-notes.md"
    assert {name.strip("`") for name, _ in rows(result, "Files")} == written | {own}


def test_the_continuity_limit_is_over_what_the_coil_may_have(two_layers):
    """0.88 ohm at most and a fifth more make 1.1; 160 ohm with 15 % would fail a usual limit of 10 to 50."""
    assert "set the tester's limit to 1.1 Ω or more. The usual 10 ohm suit." in notes(two_layers)
    long = with_figure(two_layers, "resistance_20c", value=160.0, band=(136.0, 184.0))
    assert "set the tester's limit to 230 Ω or more. The usual 10 to 50 ohm are too low." in notes(long)


def test_resistance_has_its_window_and_its_temperature(two_layers):
    assert "765 mΩ at 20 degC, accept 650 mΩ to 880 mΩ. It rises by 0.39 %" in notes(two_layers)


def test_the_shorted_turn_is_looked_for_where_it_shows(two_layers):
    """The lowest frequency at which it stands clear of all spreads; the limit lies between both."""
    chosen = best_reading(two_layers)
    assert (chosen.kind, chosen.frequency) == ("loss ratio", 1e5)
    assert chosen.contrast >= CLEAR
    assert chosen.sound * (1 + chosen.spread) < chosen.limit < chosen.shorted
    told = section(two_layers, "Electrical test")
    assert "resistance in series mode at 100 kHz, divided by that of step 2" in told
    assert "reads 1.200 or is further off" in told


def test_a_short_that_hardly_shows_is_told_so(two_layers):
    row = {"frequency": 1e4, "inductance": 1e-6, "inductance_shorted": 0.999e-6}
    faint = with_figure(
        two_layers, "shorted_turn", value=[row | {"loss_ratio": 1.0, "loss_ratio_shorted": 1.001}]
    )
    assert best_reading(faint).contrast < 1
    assert "These overlap: step 4 and inspection decide." in notes(faint)


def test_without_figures_it_promises_none(two_layers):
    told = section(replace(two_layers, figures={}), "Electrical test")
    assert "the resistance to expect was not computed" in told
    assert "Ω" not in told


def test_without_a_shorted_turn_inspection_is_asked_for(two_layers):
    figures = {name: figure for name, figure in two_layers.figures.items() if name != "shorted_turn"}
    assert "inspect the copper of each layer optically" in notes(replace(two_layers, figures=figures))


def test_vias(two_layers, flexible):
    assert answers(two_layers)["vias"][0].startswith("tented")
    assert answers(ordered(two_layers, vias="open"))["vias"][0].startswith("open")
    assert answers(flexible)["vias"] == ("none", "fixed by the design")


def test_the_window_is_that_of_what_the_fab_answers_for() -> None:
    """Whatever the copper's own conductivity and the supply may be."""
    result = predict(small_with(tolerance={"conductivity": 0.5}))
    window, band = acceptance(result.figures.resistance_20c), result.figures.resistance_20c.band
    other = predict(small_with(tolerance={"conductivity": 0})).figures.resistance_20c.band
    assert band is not None
    assert window == pytest.approx(other)
    assert window[0] > band[0]


def test_accepted_findings_are_repeated_and_cautions_for_people_are_not(two_layers):
    finding = Finding(
        rule="trace_spacing",
        value=1e-4,
        limit=2e-4,
        unit="m",
        layer=1,
        at=0j,
        says="too near; widen the pitch",
    )
    told = notes(replace(two_layers, findings=(finding,)))
    assert "- trace_spacing: too near; widen the pitch" in told
    assert not any(caution in told for caution in two_layers.cautions)
    assert "Rules broken" not in notes(two_layers)


def test_measured_sizes_go_before_asked_ones(two_layers):
    narrow = with_figure(two_layers, "smallest_width", value=0.15e-3)
    assert answers(narrow)["smallest trace and gap"][0].startswith("trace 0.15 mm, gap 0.2 mm")


def test_flexible_boards_say_that_there_is_no_stiffener_and_no_bend(flexible, two_layers):
    assert answers(flexible)["stiffener"][0] == "none"
    assert answers(flexible)["bend"][0] == "none stated"
    assert "stiffener" not in answers(two_layers)
