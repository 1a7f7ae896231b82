"""Pull between the mover and the stator's iron, or between its two halves."""

from collections.abc import Iterator
from dataclasses import replace

from coilgen.figures.mover._cores import has_cores
from coilgen.figures.mover._cores import pull as pull_of_cores
from coilgen.figures.mover._magnets import magnets, mover_of, plate_faces, stator_plates
from coilgen.figures.mover._setting import DESIGNED, Setting
from coilgen.figures.mover._spreads import spread_of, strength
from coilgen.result.caution import WARNING
from coilgen.result.figure import Answer, Case, Quantity, spread_answer
from coilgen.result.spread import Spread, carried
from coilgen.units import readable

_PLATE = 0.1
"""How far a plate's pull by images is trusted; own judgement, no source."""


def _attraction(case: Case) -> Answer | None:
    mover = case.design.mover
    if mover is None or not (mover.place == "both" or stator_plates(case) or has_cores(case)):
        return None
    found = _of_plates(case)
    told = [_BY_IMAGES] if found.value else []
    if has_cores(case):
        own = spread_of(case, lambda setting: pull_of_cores(case, setting), power=2, plates=_PLATE)
        found = carried(lambda plates, beside: plates + beside, found, own)
        told.append(_BY_COENERGY)
    return spread_answer(
        found,
        f"between {_drawn(case)}: {'; '.join(told)}",
        cautions=tuple(_pinched(case, found.value)),
    )


_BY_IMAGES = (
    "square of the flux density over the level between them (Maxwell's stress); plates by images in planes "
    "without end"
)
_BY_COENERGY = "of cores in the coils what their co-energy loses with the gap, mean over the mover's places"


def _drawn(case: Case) -> str:
    """What draws each other."""
    if mover_of(case).place == "both":
        return "its two halves" + (", each drawn by the cores too" if has_cores(case) else "")
    plates = ["plate"] if stator_plates(case) else []
    return f"the mover and the stator's {' and '.join([*plates, *(['cores'] if has_cores(case) else [])])}"


def _of_plates(case: Case) -> Spread:
    """Of the halves on each other, or of plates on the mover; nothing where there are none."""
    mover = mover_of(case)
    if mover.place != "both" and not stator_plates(case):
        return Spread(0.0)
    step = min(case.design.tolerance.gap_of(mover), 0.9 * mover.gap)
    value, wider = _pull(case, DESIGNED), _pull(case, Setting(lifted=step))
    shifts = {
        source: ((1 + low) ** 2 * value - value, (1 + high) ** 2 * value - value)
        for source, (low, high) in strength(case).items()
    }
    if step:
        shifts["gap of the mover"] = (wider - value, value**2 / wider - value)
    if any(face is not None for face in plate_faces(case)):
        shifts["model of iron plates"] = (-_PLATE * value, _PLATE * value)
    return Spread(value, shifts)


def _pull(case: Case, setting: Setting) -> float:
    from coilgen.physics.mover.attraction import ring_pull, row_pull

    mover, found = mover_of(case), magnets(case, setting)
    faces = magnets(case, replace(setting, plates=False)).sheets
    height, distance = _level(case, faces)
    if mover.arrangement == "ring":
        return ring_pull(found, height, distance, mover.poles)
    return row_pull(found, height, distance, mover.mean_pitch)


def _level(case: Case, faces: tuple[tuple[float, float], ...]) -> tuple[float, float]:
    """Height of the plate's face or of the middle between the halves, and how far the magnets are, m."""
    if len(faces) > 1:
        top, bottom = faces
        return 0.5 * (top[0] + bottom[1]), 0.5 * (top[0] - bottom[1])
    (low, high), (below, above) = faces[0], plate_faces(case)
    if "top" in mover_of(case).faces:
        assert below is not None
        return below, low - below
    assert above is not None
    return above, above - high


def _pinched(case: Case, value: float) -> Iterator[str]:
    other = "stator"
    if mover_of(case).place == "both":
        other = "its other half"
    elif not has_cores(case):
        other = "plate"
    yield (
        f"{WARNING}Mover and {other} draw each other with {readable(value, 'N')}, more as they near each "
        "other: fingers and board are crushed when they snap together. Bearings must bear it; lower the "
        "mover with a jack or screws."
    )


FIGURES = (
    Quantity(
        name="mover_attraction",
        unit="N",
        says="pull between the mover and the stator's iron, or between its halves",
        group="force",
        compute=_attraction,
        of="several",
    ),
)
