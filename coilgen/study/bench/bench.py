"""Readings of boards held against their design: predictions, causes, and better predictions."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from coilgen.errors import DesignError, Fault
from coilgen.frozen import dataclass
from coilgen.study.bench.alike import scatter
from coilgen.study.bench.causes import Cause, causes_of, gap_of
from coilgen.study.bench.fit import Problem, deviations_before, linearised
from coilgen.study.bench.forecast import NORMAL, Forecaster
from coilgen.study.bench.learnt import Told, calibration_of, told_of
from coilgen.study.bench.lessons import lessons
from coilgen.study.bench.outliers import Named, sorted_out
from coilgen.study.bench.reading import Reading, averaged, samples_of

if TYPE_CHECKING:
    from coilgen.design.calibration import Calibration
    from coilgen.design.design import Design
    from coilgen.result.figure import Figure
    from coilgen.study.bench.fit import Fit, Line
    from coilgen.study.panel.coupons import Expected

NEXT = (
    "resistance_20c",
    "inductance",
    "inductance_in_place",
    "winding_capacitance",
    "self_resonance",
    "current",
    "power",
    "peak_flux_density",
    "force_on_magnet",
    "pull_on_target",
    "temperature",
)
"""Figures that are told anew."""
NOTHING = (
    "No reading is left that counts, so nothing was learnt: no calibration is written, and one of an earlier "
    "bench is left as it was."
)
SHARED = (
    "Boards of a bench count as made alike: what differs from board to board but their gaps counts as an "
    "error of their readings. Bands of boards to come are of boards identical to these but for what is still "
    "open: they hold no scatter from board to board, nor from batch to batch."
)


@dataclass(frozen=True, kw_only=True)
class Compared:
    """A reading beside its predictions, SI; limits hold 95 % of what was predicted.

    before: from the design alone; after: from what all readings taught. off: reading less the second, in
    standard deviations of the reading and of what is left open; wrong: why it did not count, "" if it did.
    """

    reading: Reading
    before: float
    before_limits: tuple[float, float]
    after: float
    after_limits: tuple[float, float]
    off: float
    wrong: str


@dataclass(frozen=True, kw_only=True)
class Better:
    """A figure of the design before the bench, and of boards to come."""

    before: Figure
    after: Figure


@dataclass(frozen=True, kw_only=True)
class Bench:
    """All that a bench told of a design. remarks: full sentences, in the order of their weight."""

    design: Design
    fit: Fit
    asked: Line
    named: tuple[Named, ...]
    remarks: tuple[str, ...]

    @property
    def causes(self) -> tuple[Told, ...]:
        """Every cause before and after."""
        return told_of(self.fit)

    @property
    def teaches(self) -> bool:
        """Whether any reading counts."""
        return bool(self.fit.used.any())

    @cached_property
    def calibration(self) -> Calibration:
        """What boards to come have in common with these."""
        return calibration_of(self.fit, self.design.name, self.says)

    @property
    def says(self) -> str:
        """What was read, and counted."""
        problem, count = self.fit.problem, int(self.fit.used.sum())
        coupons = len({each.sample for each in problem.readings} - {*problem.boards})
        read = [*([_many(len(problem.boards), "board")] if problem.boards else [])]
        read += [_many(coupons, "coupon")] if coupons else []
        return f"{_many(count, 'reading')} of {' and '.join(read)} of {self.design.name}"

    @property
    def compared(self) -> tuple[Compared, ...]:
        """Every reading."""
        return tuple(self._compared(number) for number in range(len(self.fit.problem.readings)))

    def _compared(self, number: int) -> Compared:
        fit, reading = self.fit, self.fit.problem.readings[number]
        slopes = self.asked.slopes[number] * deviations_before(fit.problem)
        open_before, open_after = float(np.linalg.norm(slopes)), float(fit.errors[number])
        before, after = float(self.asked.values[number]), float(fit.values[number])
        return Compared(
            reading=reading,
            before=before,
            before_limits=(before - NORMAL * open_before, before + NORMAL * open_before),
            after=after,
            after_limits=(after - NORMAL * open_after, after + NORMAL * open_after),
            off=(reading.value - after) / self._doubt(number, open_after),
            wrong=next((each.what for each in self.named if each.spoils[number]), ""),
        )

    def _doubt(self, number: int, left_open: float) -> float:
        """Standard deviation of a reading less its fit: smaller where it counted and drew the fit to it."""
        alone = self.fit.problem.readings[number].uncertainty ** 2
        square = alone - left_open**2 if self.fit.used[number] else alone + left_open**2
        return float(np.sqrt(max(square, 1e-4 * alone)))

    @cached_property
    def better(self) -> tuple[Better, ...]:
        """Figures of the design before and after, where both apply."""
        before = _figures(self.design)
        after = _figures(self.design.unchecked(calibration=self.calibration))
        return tuple(Better(before=before[name], after=after[name]) for name in before if name in after)


def _many(count: int, what: str) -> str:
    return f"{count} {what}{'s' * (count != 1)}"


def bench(
    readings: Iterable[Reading],
    design: Design,
    samples: Mapping[str, Design] | None = None,
    coupons: Mapping[str, Expected] | None = None,
) -> Bench:
    """What readings tell of boards of a design; a sample of a variant's name is a board of the variant.

    samples: each sample's own design by its label on a panel; others are refused then. coupons: of the panel.

    DesignError for readings that the design has no figure for, with the place of each.
    """
    given = tuple(readings)
    kept, says = averaged(given)
    asked = design.unchecked(calibration=None)
    of_label = named_boards(samples_of(kept), asked) if samples is None else samples
    _refuse_unknown(kept, {**of_label, **(coupons or {})})
    built = of_one_winding(of_label)
    _refuse_several(kept, of_label)
    problem = problem_of(kept, built, coupons or {})
    _refuse_impossible(problem)
    fit, named, untold = sorted_out(problem)
    told = (
        *(each.says for each in named),
        *untold,
        *scatter(fit),
        *(() if fit.used.any() else (NOTHING,)),
        *lessons(fit),
        *says,
        *_calibrated(design),
        SHARED,
    )
    return Bench(
        design=asked,
        fit=fit,
        asked=linearised(problem, np.zeros(len(problem.causes))),
        named=named,
        remarks=told,
    )


def _calibrated(design: Design) -> tuple[str, ...]:
    if design.calibration is None:
        return ()
    return (
        f"The design's own calibration, {design.calibration.source}, was left out: readings are held against "
        "what was asked, so that nothing counts twice.",
    )


def of_one_winding(built: Mapping[str, Design]) -> Mapping[str, Design]:
    """Those boards that a bench reads; DesignError where there are none."""
    found = {sample: each for sample, each in built.items() if not each.windings}
    if not found:
        says = "a bench reads boards of one winding; give a design of one of them for its readings"
        raise DesignError.at("winding", says)
    return found


def named_boards(samples: Iterable[str], design: Design) -> Mapping[str, Design]:
    """The design of each sample: one of a variant's name is a board of the variant."""
    variants = {each.name: each.design.unchecked(variant=(), calibration=None) for each in design.variant}
    own = design.unchecked(variant=())
    return {sample: variants.get(sample, own) for sample in samples}


_OFF_THE_BOARD = ("note", "drive", "probe")
"""Tables of a design that make no other board: what drives it stands with its readings."""


def distinct_boards(boards: Mapping[str, Design]) -> Mapping[str, tuple[str, ...]]:
    """Of boards by name the first of each that are one as built, with the names of all of these."""
    from coilgen.design.design import VARIED

    kept = [key for key in VARIED if key not in _OFF_THE_BOARD]
    groups: list[tuple[list[object], list[str]]] = []
    for name, design in boards.items():
        built = [getattr(design, key) for key in kept]
        alike = next((names for other, names in groups if other == built), None)
        if alike is None:
            groups.append((built, [name]))
        else:
            alike.append(name)
    return {names[0]: tuple(names) for _, names in groups}


def _refuse_unknown(readings: Iterable[Reading], samples: Mapping[str, object]) -> None:
    """DesignError for labels that a panel has not."""
    unknown = {each.sample: each for each in readings if each.sample not in samples}
    if unknown:
        says = "is neither board nor coupon of the panel; it has " + ", ".join(samples)
        raise DesignError(
            [Fault(key=f"{each.place}, sample", says=f"{label} {says}") for label, each in unknown.items()]
        )


def _refuse_several(readings: Iterable[Reading], built: Mapping[str, Design]) -> None:
    """DesignError for readings of boards of several windings."""
    found = {each.sample: each for each in readings if each.sample in built and built[each.sample].windings}
    says = "is a board of several windings, and a bench reads those of one; leave its readings out"
    if found:
        raise DesignError(
            [Fault(key=f"{each.place}, sample", says=f"{label} {says}") for label, each in found.items()]
        )


def problem_of(
    readings: tuple[Reading, ...], built: Mapping[str, Design], coupons: Mapping[str, Expected]
) -> Problem:
    """Readings with what may explain them: causes of the boards that were read, gaps of each of them."""
    first = next(iter(built.values()))
    designs = {**built, **dict.fromkeys(coupons, first)}
    read = dict.fromkeys(samples_of(readings))
    shared: dict[tuple[str, str], Cause] = {}
    for each in {id(designs[sample]): designs[sample] for sample in read}.values():
        for cause in causes_of(each):
            shared.setdefault((cause.name, cause.of), cause)
    gaps = [gap for sample in read if sample in built and (gap := gap_of(built[sample], sample)) is not None]
    return Problem(
        readings=readings,
        designs=designs,
        causes=(*shared.values(), *gaps),
        forecaster=Forecaster(),
        coupons=coupons,
    )


def _refuse_impossible(problem: Problem) -> None:
    """DesignError for every reading that cannot be predicted, with its place."""
    faults = []
    for reading in problem.readings:
        try:
            problem.forecast(reading, np.zeros(len(problem.causes)))
        except DesignError as error:
            faults += [Fault(key=f"{reading.place}, {each.key}", says=each.says) for each in error.faults]
    if faults:
        raise DesignError(faults[:20])


def _figures(design: Design) -> dict[str, Figure]:
    from coilgen.job import case_of, draw_copper

    case = case_of(design, *draw_copper(design))
    found = {name: case.figure(name) for name in NEXT}
    return {name: figure for name, figure in found.items() if figure is not None}
