"""What tolerances and models change in what a mover does."""

from collections.abc import Callable, Iterator
from dataclasses import replace

from coilgen.figures.mover._cores import has_cores
from coilgen.figures.mover._joints import joints_share
from coilgen.figures.mover._machine import Machine, machine
from coilgen.figures.mover._magnets import magnets, mover_of, plate_faces
from coilgen.figures.mover._setting import BARE, DESIGNED, Setting
from coilgen.result.figure import Case
from coilgen.result.spread import Shift, Spread

_PLATES = 0.05
"""Of what iron plates add: how far images in plates without end and of any permeability are trusted; own
judgement, no source."""
Value = Callable[[Setting], float]


def with_tolerances(case: Case, of: Callable[[Machine], float], *, power: int = 1) -> Spread:
    """A value with what gap, remanence, cores and models change in it.

    power: of the magnets' field with which it goes: 0 where the field does not count, 2 for cogging.
    """
    bare = of(machine(case, BARE)) if has_cores(case) else 0.0
    found = spread_of(case, lambda setting: of(machine(case, setting)), power=power, bare=bare)
    share = joints_share(case) if power == 1 and not case.values_only else 0.0
    if not share:
        return found
    return found.plus(**{"tracks of joints": (-share * found.value, share * found.value)})


def spread_of(
    case: Case, value_at: Value, *, power: int = 1, plates: float = _PLATES, bare: float = 0.0
) -> Spread:
    """A value of a setting with its shifts.

    plates: how far what iron plates add is trusted, as a share. bare: the value without cores.
    """
    value = value_at(DESIGNED)
    if case.values_only:
        return Spread(value)
    beside = has_cores(case)
    usual = value_at(Setting(rough=True)) if beside else value
    scale = value / usual if usual else 1.0

    def changed(setting: Setting) -> float:
        """By what a setting changes the value; beside cores on the coarser grid."""
        return scale * (value_at(replace(setting, rough=beside)) - usual)

    shifts: dict[str, Shift] = {}
    step = min(case.design.tolerance.gap_of(mover_of(case)), 0.9 * mover_of(case).gap)
    if step:
        wider = changed(Setting(lifted=step))
        narrower = value**2 / (value + wider) - value if power and value + wider else -wider
        shifts["gap of the mover"] = (narrower, wider)
    if power:
        for source, (low, high) in strength(case).items():
            ends = tuple(_of_field(value, share, power, changed, beside) for share in (low, high))
            shifts[source] = (ends[0], ends[1])
    if beside:
        shifts |= {source: (changed(low), changed(high)) for source, low, high in _materials(case)}
        from coilgen.physics.core.two_grids import grid_error

        error = float(grid_error(value - bare, usual - bare))
        shifts["model of cores in the coils"] = (-error, error)
    if any(face is not None for face in plate_faces(case)):
        added = plates * abs(changed(Setting(plates=False)))
        shifts["model of iron plates"] = (-added, added)
    return Spread(value, shifts)


def not_negative(found: Spread) -> Spread:
    """Of a size: shifts down shortened by as much as they would take it below nothing."""
    low = found.band[0]
    if low >= 0.0:
        return found
    share = found.value / (found.value - low)
    shifts = {
        each: (min(a, 0.0) * share + max(a, 0.0), min(b, 0.0) * share + max(b, 0.0))
        for each, (a, b) in found.shifts.items()
    }
    return Spread(found.value, shifts)


def _of_field(
    value: float, share: float, power: int, changed: Callable[[Setting], float], beside: bool
) -> float:
    """Change by a share of the magnets' field; cores that saturate are solved anew."""
    if not share:
        return 0.0
    return changed(Setting(strength=1 + share)) if beside else ((1 + share) ** power - 1) * value


def _materials(case: Case) -> Iterator[tuple[str, Setting, Setting]]:
    """Each source with the cores' material at its low and its high end."""
    tolerance = case.design.tolerance
    if tolerance.permeability:
        mu = 1 + tolerance.permeability
        yield "permeability", Setting(permeability=1 / mu), Setting(permeability=mu)
    straight = all(core.material.curve.straight for core in case.design.core if core.place == "pocket")
    if tolerance.saturation and not straight:
        top = tolerance.saturation
        yield "saturation", Setting(saturation=1 - top), Setting(saturation=1 + top)


def strength(case: Case) -> dict[str, tuple[float, float]]:
    """What the magnets' field may be less or more by, as shares of it, by source.

    The recoil permeability is taken for that of air, by which magnets give less than told.
    """
    magnet, share = mover_of(case).magnet, case.design.tolerance.remanence
    least, typical = magnet.remanences
    found = {}
    if share:
        by_grade = magnet.grade is not None and abs(share - (1 - least / typical)) < 1e-5
        found["remanence"] = (-share, 0.0 if by_grade else share)
    working = case.once("working point of the mover", lambda: _working_point(case))
    recoil = float(magnet.row["recoil_permeability"]) - 1.0
    found["recoil of the magnets"] = (1.0 / (1.0 + recoil * (1.0 - working)) - 1.0, 0.0)
    return found


def _working_point(case: Case) -> float:
    """Mean flux density in the middle of a magnet over its remanence."""
    from coilgen.physics.mover.attraction import pole_flux_density

    found = magnets(case)
    low, high = magnets(case, Setting(plates=False)).sheets[0]
    return min(1.0, max(0.0, pole_flux_density(found, 0.5 * (low + high)) / found.polarisation))
