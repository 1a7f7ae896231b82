"""The evaluator of many designs: the numbers of a design by itself, whatever was evaluated before."""

import random
import weakref
from collections.abc import Callable

import pytest
from small_design import SMALL

from coilgen import job
from coilgen.catalogue import templates
from coilgen.design.reading import read_text
from coilgen.errors import DesignError
from coilgen.figures.electrical import inductance
from coilgen.physics.core import on_grid, saturation
from coilgen.result.figure import Case
from coilgen.result.result import Result
from coilgen.study import evaluator as evaluating
from coilgen.study.evaluator import RULES_BROKEN, Evaluator, RememberedCase, sharing_case
from coilgen.study.margins import least_inner_size, room_inside
from coilgen.study.memory import Memory
from coilgen.study.plan import single_figures
from coilgen.study.windings import OF_LAYERS

PUSHED = (
    SMALL
    + '[drive]\nvoltage = 0.5\n[magnet]\nform = "disc"\ndiameter = 6\nthickness = 2\ngrade = "N42"\ngap = 1\n'
)
HELD = (
    SMALL + '[drive]\nvoltage = 0.5\n[[core]]\nform = "disc"\ndiameter = "16 mm"\nthickness = "1 mm"\n'
    '[target]\nmaterial = "low-carbon steel"\nform = "disc"\ndiameter = 12\nthickness = 0.5\ngap = 0.5\n'
)
CHEAP = (RULES_BROKEN, "resistance_20c", "inductance", "current", "temperature", "force_on_magnet", "power")
VALUES = {
    "winding.turns": (2, 3, 3.5, 13),
    "winding.layers": (1, 2),
    "winding.shape": ("round", "square"),
    "winding.direction": ("clockwise", "counterclockwise"),
    "winding.trace_spacing": (0.1, 0.3),
    "drive.voltage": (0.5, 1, 40),
    "drive.ambient": (20, 60),
    "drive.waveform": ("dc", "sine"),
    "magnet.gap": (0.5, 1),
    "magnet.pole": ("up", "north"),
    "mounting.orientation": ("vertical", "face-up"),
    "mounting.base_plate": (None, {"material": "aluminium", "width": 30, "thickness": 2, "place": "bottom"}),
    "board.outline": ("none", "square"),
    "rules.shop": ("rigid-standard", "rigid-fine"),
}


def alone(design):
    """By the functions that one design goes through."""
    coil, art = job.draw(design)
    case = job.case_of(design, coil, art)
    broken = len(job.findings_of(design, coil, art))
    figures = {name: case.figure(name) for name in CHEAP if name != RULES_BROKEN}
    return {RULES_BROKEN: broken, **{name: figure and figure.value for name, figure in figures.items()}}


def drawn(seed: int):
    """A design with some keys changed; DesignError where they contradict one another."""
    chosen = random.Random(seed)
    keys = chosen.sample(sorted(VALUES), 3)
    changes = {key: chosen.choice(VALUES[key]) for key in keys}
    frequency = {"drive.frequency": 1000} if changes.get("drive.waveform") == "sine" else {}
    return read_text(PUSHED).changed(changes | frequency)


@pytest.mark.slow
def test_numbers_are_those_of_each_design_by_itself_whatever_came_before() -> None:
    """Bit by bit: what is kept from a design holds for another only where all that was read agrees."""
    shared, built = Evaluator(CHEAP), 0
    for seed in range(24):
        try:
            design = drawn(seed)
        except DesignError:
            continue
        found = shared.of(design)
        if found.fault is not None:
            with pytest.raises(DesignError) as caught:
                job.draw(design)
            assert caught.value.faults == found.fault.faults
            continue
        assert dict(found.values) == alone(design), seed
        built += 1
    assert built > 10


def _of_one(text: str) -> bool:
    """Whether a design file has one winding; figures of several stand with each."""
    return "[[winding]]" not in text and "[array]" not in text


@pytest.mark.slow
@pytest.mark.parametrize("name", sorted(name for name in templates() if _of_one(templates()[name])))
def test_so_are_all_figures_of_the_templates(name: str, whole: Callable[[str], Result]) -> None:
    """All that have one value; bands apart, they do not feel the tolerances."""
    design = read_text(templates()[name])
    made = whole(name).figures
    shared = Evaluator(single_figures(design))
    shared.of(design.changed({"drive.ambient": 30}))
    for figure, value in shared.of(design).values.items():
        assert value == (made[figure].value if figure in made else None), figure


def test_a_voltage_draws_nothing_and_a_width_draws_anew(monkeypatch) -> None:
    drawn, linked = [], []
    draw, layers = evaluating.draw_copper, inductance.layer_inductances
    monkeypatch.setattr(evaluating, "draw_copper", lambda design: drawn.append(1) or draw(design))
    monkeypatch.setattr(inductance, "layer_inductances", lambda wire: linked.append(1) or layers(wire))
    shared, design = Evaluator(CHEAP), read_text(PUSHED)
    for voltage in (0.5, 0.6, 0.7):
        shared.of(design.changed({"drive.voltage": voltage, "mounting.orientation": "vertical"}))
    assert (len(drawn), len(linked)) == (1, 1)
    shared.of(design.changed({"winding.trace_width": 0.25}))
    assert (len(drawn), len(linked)) == (2, 2)


def test_a_wider_board_has_the_figures_of_the_winding_that_stays(monkeypatch) -> None:
    """Drawn anew, the coil is another object, and equal."""
    drawn, linked = [], []
    draw, layers = evaluating.draw_copper, inductance.layer_inductances
    monkeypatch.setattr(evaluating, "draw_copper", lambda design: drawn.append(1) or draw(design))
    monkeypatch.setattr(inductance, "layer_inductances", lambda wire: linked.append(1) or layers(wire))
    shared, design = Evaluator(CHEAP), read_text(PUSHED).changed({"board.outline": "square"})
    found = [shared.of(design.changed({"board.size": size})) for size in ("40 mm", "50 mm")]
    assert (len(drawn), len(linked)) == (2, 1)
    inductances, temperatures = (
        [each.values[name] for each in found] for name in ("inductance", "temperature")
    )
    assert inductances[0] == inductances[1]
    assert temperatures[0] != temperatures[1]


def test_only_what_is_asked_for_is_computed(monkeypatch) -> None:
    monkeypatch.setattr(inductance, "layer_inductances", lambda wire: pytest.fail("not asked for"))
    assert set(Evaluator(["resistance_20c"]).of(read_text(SMALL)).values) == {"resistance_20c"}


def test_what_does_not_apply_has_no_number() -> None:
    assert Evaluator(["force_on_magnet"]).of(read_text(SMALL)).values == {"force_on_magnet": None}


def test_a_fault_is_found_once_for_designs_that_have_it_in_common(monkeypatch) -> None:
    drawn = []
    draw = evaluating.draw_copper
    monkeypatch.setattr(evaluating, "draw_copper", lambda design: drawn.append(1) or draw(design))
    shared, crowded = Evaluator(CHEAP), read_text(PUSHED).changed({"winding.turns": 13})
    faults = [shared.of(crowded.changed({"drive.voltage": volt})).fault for volt in (0.5, 0.6)]
    assert faults[0] is faults[1]
    assert "the winding leaves" in str(faults[0])
    assert len(drawn) == 1


@pytest.mark.parametrize("name", sorted(templates()))
def test_print_keeps_its_own_rule_so_that_none_is_lost_without_it(name: str) -> None:
    design = read_text(templates()[name])
    for size in (None, 1.5, 3):
        try:
            changed = design if size is None else design.changed({"rules.legend_clearance": size / 5})
        except DesignError:
            continue
        coil, art = job.draw(changed)
        rules = {finding.rule for finding in job.findings_of(changed, coil, art)}
        assert "legend_clearance" not in rules


def test_every_figure_but_tables_and_matrices_has_one_value() -> None:
    design = read_text(PUSHED)
    made = job.predict(design).figures
    for name in single_figures(design):
        assert name not in made or isinstance(made[name].value, int | float), name
    assert all(isinstance(made[name].value, list) for name in OF_LAYERS)


def test_the_least_inner_size_has_room_and_a_micrometre_less_has_none() -> None:
    crowded = read_text(SMALL).changed({"winding.turns": 13})
    for design in (read_text(SMALL), crowded):
        least = least_inner_size(design)
        by = least - design.winding.inner_size
        outer = 1e3 * (design.winding.outer_size + by)
        job.draw(design.changed({"winding.outer_size": outer}))
        with pytest.raises(DesignError):
            job.draw(design.changed({"winding.outer_size": outer - 2e-3}))
    assert room_inside(crowded) < 0 < room_inside(read_text(SMALL))


class Large:
    """Stands for what takes much memory."""

    def __init__(self, turns: float) -> None:
        self.turns = turns


def test_what_is_large_goes_before_the_next_is_made_and_the_rest_with_its_case() -> None:
    alive: list[weakref.ref[Large]] = []
    seen: list[int] = []

    def large(case: Case) -> Large:
        seen.append(sum(each() is not None for each in alive))
        made = Large(case.design.winding.turns)
        alive.append(weakref.ref(made))
        return made

    memory = Memory()
    for turns in (3, 4, 5):
        design = read_text(SMALL.replace("turns = 3", f"turns = {turns}"))
        case = sharing_case(design, memory)
        assert isinstance(case, RememberedCase)
        assert case.kept_last(large).turns == turns
        case.forget()
    assert seen == [0, 0, 0]


def test_of_cores_and_targets_a_voltage_lays_no_grid_and_moves_no_onset(monkeypatch) -> None:
    """Grids at other gaps and the onset of saturation are those of every current."""
    laid, sought = [], []
    lay, seek = on_grid.set_up, saturation.saturation_onset
    monkeypatch.setattr(on_grid, "set_up", lambda *given, **more: laid.append(1) or lay(*given, **more))
    monkeypatch.setattr(saturation, "saturation_onset", lambda setup: sought.append(1) or seek(setup))
    memory, found, counts = Memory(), [], []
    for voltage in (0.5, 0.6):
        case = sharing_case(read_text(HELD).changed({"drive.voltage": voltage}), memory)
        names = ("pull_against_gap", "pull_on_target", "core_saturation_current")
        found.append([case.figure(name) for name in names])
        counts.append((len(laid), len(sought)))
    assert counts[0] == counts[1] > (1, 0)
    assert found[0][0].value != found[1][0].value
    assert found[0][2].value == found[1][2].value
    assert found[0][2].band == found[1][2].band
