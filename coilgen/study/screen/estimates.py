"""Figures of a family by what closed forms tell of them, put right by exact runs."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from coilgen.frozen import dataclass
from coilgen.physics.inductance.ring_tables import rings_force, rings_inductance, rings_length
from coilgen.study.screen.family import COPPER, Array, Family, Index
from coilgen.study.search.surface import Surface, surface

WITH_BODIES = (
    "inductance_in_place", "core_inductance", "core_inductance_at_rest", "core_inductance_small_signal",
)  # fmt: skip
"""Inductances of which what bodies add to the bare coil's is learned."""
ERRORS = {
    "resistance_20c": 0.003,
    "inductance": 0.01,
    "force_constant": 0.01,
    "hot_resistance": 0.005,
    "force_at_rest": 0.01,
    "pull_on_target": 0.01,
    "lift_margin": 0.01,
    "holding_current": 0.01,
} | dict.fromkeys(WITH_BODIES, 0.01)
"""Relative errors that the screen promises, of 99 rows in 100."""
KELVIN = 2.0
"""The same of a temperature, K."""
_OVER = 1.02
"""Of the largest rise that was learned: what is hotter is left to exact runs."""
_ROOT_MEAN_SQUARES = 2.5
_BLOCK = 20_000


@dataclass(frozen=True, kw_only=True)
class Estimate:
    """A figure of each design of a family, (n,), and its relative error against runs it did not know."""

    values: Array
    error: float


@dataclass(frozen=True, kw_only=True)
class Lesson:
    """What to learn: a closed form to start from, (n,), and the features that matter, (n, k)."""

    base: Array
    features: Array

    def learned(self, rows: Index, values: Array, tried: Index, true: Array) -> Estimate:
        """From runs at rows; the error from others that were tried, which then are learned from too."""
        before = self._at(rows, values)[tried]
        error = np.abs(before / true - 1)
        worst = max(float(error.max()), _ROOT_MEAN_SQUARES * float(np.sqrt(np.mean(error**2))))
        both = np.concatenate([rows, tried]), np.concatenate([values, true])
        return Estimate(values=self._at(*both), error=worst)

    def _at(self, rows: Index, values: Array) -> Array:
        """The base times a surface through the runs' ratios to it; runs of one place as one."""
        places, same = np.unique(self.features[rows], axis=0, return_inverse=True)
        ratio = values / self.base[rows]
        mean = np.bincount(same.ravel(), ratio) / np.bincount(same.ravel())
        if len(places) == 1:
            return np.asarray(self.base * mean[0])
        return self.base * evaluated(surface(places, mean), self.features)


def evaluated(told: Surface, features: Array) -> Array:
    """A surface at very many rows, block by block."""
    blocks = [told.at(features[k : k + _BLOCK]) for k in range(0, len(features), _BLOCK)]
    return np.concatenate(blocks)


def lesson(family: Family, name: str, known: dict[str, Estimate]) -> Lesson:
    """Of a figure by its name. known: what was learned before."""
    return _LESSONS[name](family, known)


def _resistance(family: Family, known: dict[str, Estimate]) -> Lesson:
    sizes = family.sizes
    base = rings_length(family.windings) / (sizes["width"] * sizes["thickness"])
    return Lesson(base=base, features=family.features_of(*COPPER))


def _inductance(family: Family, known: dict[str, Estimate]) -> Lesson:
    base = rings_inductance(family.windings, family.heights)
    return Lesson(base=base, features=family.features_of(*COPPER))


def _force(family: Family, known: dict[str, Estimate]) -> Lesson:
    base = rings_force(family.windings, family.heights, family.magnets)
    if family.beside is not None:
        base = base + family.beside.push(family.windings)
    return Lesson(base=base, features=family.features_of(*COPPER, "magnet"))


def _at_rest(family: Family, known: dict[str, Estimate]) -> Lesson:
    """The cores' pull on the magnet, which no winding changes."""
    return Lesson(base=np.ones(len(family)), features=np.zeros((len(family), 0)))


def _added(family: Family, known: dict[str, Estimate]) -> Lesson:
    """What bodies add to the inductance; saturation makes it hang on the drive."""
    assert family.beside is not None
    return Lesson(base=family.beside.added_inductance(family.windings), features=_saturating(family))


def _pull(family: Family, known: dict[str, Estimate]) -> Lesson:
    assert family.beside is not None
    amperes = cold_current(family, known)
    base = amperes**2 * np.abs(family.beside.pull(family.windings))
    return Lesson(base=base, features=_saturating(family))


def _holding(family: Family, known: dict[str, Estimate]) -> Lesson:
    """Least current that holds the target."""
    assert family.beside is not None
    base = 1 / np.sqrt(np.abs(family.beside.pull(family.windings)))
    return Lesson(base=base, features=family.features_of(*COPPER))


def _saturating(family: Family) -> Array:
    return family.features_of(*COPPER, "drive")


def _rise(family: Family, known: dict[str, Estimate]) -> Lesson:
    """Of the hottest copper over the air, K, against the power of the cold coil."""
    power = cold_power(family, known)
    return Lesson(base=power, features=_of_heat(family, power))


def _hot_resistance(family: Family, known: dict[str, Estimate]) -> Lesson:
    return Lesson(base=known["resistance_20c"].values, features=_of_heat(family, cold_power(family, known)))


def _of_heat(family: Family, power: Array) -> Array:
    """All numbers but the drive's, whose cold power tells as much."""
    own = family.features_of("", but=("drive.voltage", "drive.current"))
    log = np.log(power)
    scaled = (log - log.min()) / (float(np.ptp(log)) or 1.0)
    return np.concatenate([own, scaled[:, None]], axis=1)


_Teacher = Callable[[Family, dict[str, Estimate]], Lesson]
_LESSONS: dict[str, _Teacher] = {
    "resistance_20c": _resistance,
    "inductance": _inductance,
    "force_constant": _force,
    "temperature": _rise,
    "hot_resistance": _hot_resistance,
    "force_at_rest": _at_rest,
    "pull_on_target": _pull,
    "lift_margin": _pull,
    "holding_current": _holding,
    **dict.fromkeys(WITH_BODIES, _added),
}


def cold_current(family: Family, known: dict[str, Estimate]) -> Array:
    """Of each design at 20 degC, A."""
    ohms, volts = known["resistance_20c"].values, family.sizes["volts"]
    return np.asarray(np.where(volts > 0, volts / ohms, family.sizes["amperes"]))


def cold_power(family: Family, known: dict[str, Estimate]) -> Array:
    """Of each design at 20 degC, W."""
    ohms, volts, amperes = known["resistance_20c"].values, family.sizes["volts"], family.sizes["amperes"]
    return np.asarray(np.where(volts > 0, volts**2 / ohms, amperes**2 * ohms))


def rise_is_told(rise: Estimate, largest: float) -> np.ndarray:
    """Where a temperature is within what is promised: not too hot, and not over what was learned from."""
    return np.asarray((rise.error * rise.values <= KELVIN) & (rise.values <= _OVER * largest))


def figures(family: Family, known: dict[str, Estimate]) -> dict[str, Array]:
    """Every figure that follows from those that were learned, by name, (n,)."""
    sizes, ohms = family.sizes, known["resistance_20c"].values
    volts, current = sizes["volts"], cold_current(family, known)
    found = {"resistance_20c": ohms, "current": current, "power": cold_power(family, known)}
    if "inductance" in known:
        henries = known["inductance"].values
        found |= {"inductance": henries, "time_constant": henries / ohms}
    if "force_constant" in known:
        push = known["force_constant"].values
        rest = known["force_at_rest"].values if family.core else np.zeros(len(family))
        found |= {"force_constant": push, "force_at_rest": rest}
        found |= {"force_on_magnet": rest + push * current, "force_reversed": rest - push * current}
    found |= {name: found["inductance"] + known[name].values for name in WITH_BODIES if name in known}
    found |= {name: known[name].values for name in _AS_LEARNED if name in known}
    if "temperature" in known:
        found["temperature"] = sizes["ambient"] + known["temperature"].values
    if "hot_resistance" in known:
        hot = known["hot_resistance"].values
        amperes = np.where(volts > 0, volts / hot, sizes["amperes"])
        found |= {"hot_resistance": hot, "hot_current": amperes, "hot_power": amperes**2 * hot}
    return found


_AS_LEARNED = ("pull_on_target", "lift_margin", "holding_current")
NEEDS = {
    "resistance_20c": (),
    "current": (),
    "power": (),
    "inductance": ("inductance",),
    "time_constant": ("inductance",),
    "force_constant": ("force_constant", "force_at_rest"),
    "force_at_rest": ("force_constant", "force_at_rest"),
    "force_on_magnet": ("force_constant", "force_at_rest"),
    "force_reversed": ("force_constant", "force_at_rest"),
    "temperature": ("temperature",),
    "hot_resistance": ("hot_resistance",),
    "hot_current": ("hot_resistance",),
    "hot_power": ("hot_resistance",),
    **{name: (name,) for name in _AS_LEARNED},
    **{name: ("inductance", name) for name in WITH_BODIES},
}
"""Figures that the screen tells, with what each needs to be learned besides the resistance."""


def applies(family: Family, name: str) -> bool:
    """Whether designs of a family have what is learned under a name."""
    if name == "force_constant":
        return family.magnet
    if name == "force_at_rest":
        return family.magnet and family.core
    if name in _AS_LEARNED:
        return family.target
    if name in WITH_BODIES:
        return family.core or (family.target and name == WITH_BODIES[0])
    return True
