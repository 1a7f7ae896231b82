"""Pull between the mover and the stator's plate, or between its two halves."""

from collections.abc import Iterator

from coilgen.figures.mover._machine import strength
from coilgen.figures.mover._magnets import magnets, mover_of, plate_faces, stator_plates
from coilgen.result.caution import WARNING
from coilgen.result.figure import Answer, Case, Quantity, spread_answer
from coilgen.result.spread import Spread
from coilgen.units import readable

_PLATE = 0.1
"""How far a plate's pull by images is trusted; own judgement, no source."""


def _attraction(case: Case) -> Answer | None:
    mover = case.design.mover
    if mover is None or (mover.place != "both" and not stator_plates(case)):
        return None
    step = min(case.design.tolerance.gap_of(mover), 0.9 * mover.gap)
    value, wider = _pull(case, 0.0), _pull(case, step)
    shifts = {
        source: ((1 + low) ** 2 * value - value, (1 + high) ** 2 * value - value)
        for source, (low, high) in strength(case).items()
    }
    if step:
        shifts["gap of the mover"] = (wider - value, value**2 / wider - value)
    if any(face is not None for face in plate_faces(case)):
        shifts["model of iron plates"] = (-_PLATE * value, _PLATE * value)
    what = "its two halves" if mover.place == "both" else "the mover and the stator's plate"
    return spread_answer(
        Spread(value, shifts),
        f"between {what}: square of the flux density over the level between them (Maxwell's stress); plates "
        "by images in planes without end",
        cautions=tuple(_pinched(case, value)),
    )


def _pull(case: Case, lifted: float) -> float:
    from coilgen.physics.mover.attraction import ring_pull, row_pull

    mover, found = mover_of(case), magnets(case, lifted)
    faces = magnets(case, lifted, plates=False).sheets
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
    other = "its other half" if mover_of(case).place == "both" else "plate"
    yield (
        f"{WARNING}Mover and {other} draw each other with {readable(value, 'N')}, more as they near each "
        "other: fingers and board are crushed when they snap together. Bearings must bear it; lower the "
        "mover with a jack or screws."
    )


FIGURES = (
    Quantity(
        name="mover_attraction",
        unit="N",
        says="pull between the mover and the stator's plate, or between its halves",
        group="force",
        compute=_attraction,
        of="several",
    ),
)
