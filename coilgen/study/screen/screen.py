"""Figures of very many coreless designs at once: some are computed exactly, the others follow from them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from coilgen.errors import DesignError
from coilgen.physics.base.one_thread import one_thread
from coilgen.study.evaluator import RULES_BROKEN
from coilgen.study.screen import estimates
from coilgen.study.screen.anchors import OF_BODIES, Anchors, Run
from coilgen.study.screen.bodies import beside_bodies
from coilgen.study.screen.estimates import ERRORS, NEEDS, WITH_BODIES, Estimate, applies, lesson
from coilgen.study.screen.family import Array, Family, Index, gathered
from coilgen.study.screen.fits import LeftError, Mask, room, ruled

if TYPE_CHECKING:
    from coilgen.design.design import Design

FEW = 150
"""Designs alike but for numbers under which all are left to exact runs: to learn would cost as much."""
_LEAST, _EACH, _TRIED = 12, 4, 12
"""Runs to learn from, and more of them for each number that differs; runs that tell the error."""
_EACH_WITH_BODIES, _TRIED_WITH_BODIES = 3, 6
"""The same of figures of cores and target, whose base tells more and whose runs take longer."""
_ROUNDS = 3
"""Times that as many runs again are learned from while errors are over those promised."""
NO_ROOM = "screened: no room inside the winding for its layer changes and pocket"
SCREENED = (RULES_BROKEN, *NEEDS)
"""Figures that the screen tells; of `rules_broken` whether there are any, 0 or 1."""


@dataclass(frozen=True, kw_only=True)
class Screened:
    """What the screen tells of n designs.

    figures: by name, (n,), SI, nan where not told. told: which designs it answers, (n,); all others want an
    exact run. exact: which of those answers are exact runs. fits: whether a design can be built, (n,).
    faults: by place, as exact runs told them; what else does not fit has no room inside. left: why designs
    are left to exact runs, with how many. errors: the largest that was met against exact runs not learned
    from, relative, of temperature's rise too.
    """

    figures: Mapping[str, Array]
    told: Mask
    exact: Mask
    fits: Mask
    faults: Mapping[int, DesignError]
    left: Mapping[str, int]
    errors: Mapping[str, float]


def screen(designs: Sequence[Design], figures: Sequence[str]) -> Screened:
    """Fast figures of designs: `figures` of SCREENED, of which others leave all to exact runs.

    designs: any sequence; they are taken one by one, and taking one may raise the DesignError that it cannot
    be built with. Those that agree in all but numbers are one family, from which few are computed exactly; of
    the others R is promised to 0.3 %, L and force to 1 %, temperature to 2 K, and whether it fits, in 99 of
    100. Where exact runs show that a family does not keep that, or it is small, it is left. The same designs
    give the same numbers on every run.
    """
    with one_thread():
        return _screened(designs, tuple(figures))


def _screened(designs: Sequence[Design], figures: tuple[str, ...]) -> Screened:
    work = _Work(designs, figures)
    other = [name for name in figures if name not in SCREENED]
    if other:
        work.leave(np.arange(len(designs)), f"{', '.join(other)} is not screened")
        return work.screened()
    found = gathered(designs)
    for row, fault in found.faults.items():
        work.refuse(row, fault)
    for row, reason in found.left.items():
        work.leave(np.array([row]), reason)
    for family in found.families:
        try:
            work.add(family)
        except LeftError as error:
            work.leave(family.rows, str(error))
    return work.screened()


@dataclass
class _Work:
    """Answers as they are found."""

    designs: Sequence[Design]
    figures: tuple[str, ...]
    faults: dict[int, DesignError] = field(default_factory=dict)
    left: dict[str, int] = field(default_factory=dict)
    errors: dict[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        count = len(self.designs)
        self.told, self.exact, self.fits = np.zeros(count, bool), np.zeros(count, bool), np.ones(count, bool)
        self.values = {name: np.full(count, np.nan) for name in self.figures}
        needs = [need for name in self.figures for need in NEEDS.get(name, ())]
        self.learned = tuple(dict.fromkeys(["resistance_20c", *needs]))
        self.anchors = Anchors(self.designs, self.figures, self.learned)

    def screened(self) -> Screened:
        """What was found."""
        return Screened(
            figures=self.values,
            told=self.told,
            exact=self.exact,
            fits=self.fits,
            faults=self.faults,
            left=self.left,
            errors=self.errors,
        )

    def leave(self, rows: Index, reason: str) -> None:
        """To exact runs; those that were made already stay."""
        self.left[reason] = self.left.get(reason, 0) + len(rows)
        for row in rows.tolist():
            if row in self.anchors.whole:
                self._take(row)

    def refuse(self, row: int, fault: DesignError) -> None:
        """What cannot be built, by an exact run."""
        self.faults[row] = fault
        self.fits[row], self.told[row], self.exact[row] = False, True, True

    def add(self, family: Family) -> None:
        """The answers of a family. LeftError where it cannot be screened."""
        if len(family) < FEW:
            raise LeftError(f"fewer than {FEW} alike")
        source = np.random.default_rng(len(family))
        open_ = np.flatnonzero(room(family, self.anchors, source))
        closed = np.setdiff1d(np.arange(len(family)), open_)
        if len(open_) >= FEW:
            self._learn(family, open_, source)
        elif len(open_):
            self.leave(family.rows[open_], f"fewer than {FEW} alike")
        self.fits[family.rows[closed]], self.told[family.rows[closed]] = False, True

    def _learn(self, family: Family, among: Index, source: np.random.Generator) -> None:
        family = self._beside(family, among)
        count = _LEAST + _EACH * len(family.names)
        learn = family.spread(count, among)
        known: dict[str, Estimate] = {}
        for turn in range(1, _ROUNDS + 1):
            rest = np.setdiff1d(among, learn)
            if len(rest) < 2 * _TRIED:
                break
            tried = source.choice(rest, _TRIED, replace=False)
            known, largest = self._known(family, learn, tried, turn)
            if not _worst(known):
                self._tell(family, among, known, largest, learn, tried)
                return
            more = family.spread(2 * count, rest)
            learn = np.unique(np.concatenate([learn, tried, more]))
        raise LeftError(_worst(known) or "too few beside those that would be learned from")

    def _beside(self, family: Family, among: Index) -> Family:
        """With what its bodies do, where figures of them are asked for."""
        if not family.bodies or not any(name in OF_BODIES for name in self.learned):
            return family
        first, pitch, turns = (family.sizes[name][among] for name in ("first", "pitch", "turns"))
        inmost = float((first - pitch * (np.ceil(turns) - 1)).min())
        case = self.anchors.case(int(family.rows[among[int(first.argmax())]]))
        try:
            return replace(family, beside=beside_bodies(case, (inmost, float(first.max()))))
        except ValueError as error:
            raise LeftError(f"no rings for its turns: {error}") from None

    def _known(
        self, family: Family, learn: Index, tried: Index, turn: int
    ) -> tuple[dict[str, Estimate], float]:
        """What was learned, and the largest rise of temperature among it, K. turn: from 1."""
        known: dict[str, Estimate] = {}
        largest = 0.0
        few = family.spread(turn * (_LEAST + _EACH_WITH_BODIES * len(family.names)), learn)
        for name in self.learned:
            if not applies(family, name):
                continue
            taken = (
                (few, tried[:_TRIED_WITH_BODIES]) if name in OF_BODIES and family.bodies else (learn, tried)
            )
            (rows, values), (others, true) = (self._runs(family, each, name) for each in taken)
            if name == "temperature":
                values, true = (
                    values - family.sizes["ambient"][rows],
                    true - family.sizes["ambient"][others],
                )
                largest = float(max(values.max(), true.max()))
            known[name] = lesson(family, name, known).learned(rows, values, others, true)
        return known, largest

    def _runs(self, family: Family, places: Index, name: str) -> tuple[Index, Array]:
        """Places that have a figure, with it; of an inductance with bodies what these add."""
        bodies = name in OF_BODIES
        runs = [self.anchors.run(int(family.rows[place]), bodies=bodies) for place in places]
        if any(run.fault is not None for run in runs):
            raise LeftError("some have room inside and yet cannot be built")
        told = [(place, _learned(run, name)) for place, run in zip(places, runs, strict=True)]
        kept = [(place, value) for place, value in told if value is not None and np.isfinite(value)]
        if len(kept) < _TRIED / 2:
            raise LeftError(f"{name} applies to too few")
        return np.array([place for place, _ in kept]), np.array([value for _, value in kept])

    def _tell(
        self,
        family: Family,
        among: Index,
        known: dict[str, Estimate],
        largest: float,
        learn: Index,
        tried: Index,
    ) -> None:
        sure = np.zeros(len(family), bool)
        sure[among] = True
        if "temperature" in known:
            hot = ~estimates.rise_is_told(known["temperature"], largest)
            self._note("too hot for what was learned, or over 2 K unsure", int((sure & hot).sum()))
            sure &= ~hot
        found = estimates.figures(family, known)
        self._try_forces(family, found, tried[:_TRIED_WITH_BODIES])
        if RULES_BROKEN in self.figures:
            by_rules = ruled(family, self.anchors, learn.tolist(), tried.tolist())
            found[RULES_BROKEN] = by_rules.broken.astype(float)
            self._note("too near to the limit of a rule", int((sure & ~by_rules.sure).sum()))
            sure &= by_rules.sure
        rows = family.rows[sure]
        self.told[rows] = True
        for name in self.figures:
            if name in found:
                self.values[name][rows] = found[name][sure]
        for row in family.rows.tolist():
            if row in self.anchors.whole:
                self._take(row)
        for name, each in known.items():
            self.errors[name] = max(self.errors.get(name, 0.0), each.error)

    def _try_forces(self, family: Family, found: Mapping[str, Array], tried: Index) -> None:
        """Forces on a magnet beside cores, which are sums: that none is off by more than is promised."""
        names = [name for name in self.figures if name.startswith("force_on") or name == "force_reversed"]
        for name in names if family.core and family.magnet else ():
            places, true = self._runs(family, tried, name)
            error = float(np.abs(found[name][places] / true - 1).max())
            if error > ERRORS["force_constant"]:
                raise LeftError(f"{name} is estimated no better than to {100 * error:.1f} %")

    def _note(self, reason: str, count: int) -> None:
        if count:
            self.left[reason] = self.left.get(reason, 0) + count

    def _take(self, row: int) -> None:
        """An exact run, as it is."""
        run = self.anchors.runs[row]
        if run.fault is not None:
            self.refuse(row, run.fault)
            return
        self.told[row] = self.exact[row] = True
        for name in self.figures:
            value: Any = run.values[name]
            self.values[name][row] = np.nan if value is None else value


def _learned(run: Run, name: str) -> float | None:
    value = run.values[name]
    if name not in WITH_BODIES or value is None:
        return value
    bare = run.values["inductance"]
    return None if bare is None else value - bare


def _worst(known: Mapping[str, Estimate]) -> str:
    """What is over its promised error most; empty where nothing is."""
    over = {name: each.error / ERRORS[name] for name, each in known.items() if name in ERRORS}
    name = max(over, key=over.__getitem__, default="")
    if not name or over[name] <= 1:
        return ""
    return f"{name} is estimated no better than to {100 * known[name].error:.1f} %"
