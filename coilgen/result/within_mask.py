"""Bodies told to stand nearer to the copper than the solder mask or coverlay over it lets them."""

from collections.abc import Iterator

from coilgen.design.design import Design
from coilgen.design.stacking import Standing
from coilgen.units import in_mm

_LEAST = 1e-9
"""m, by which a body must be too near to be told of: half a step of rounding is none."""


def within_mask(design: Design) -> Iterator[str]:
    """What to know of magnet, target and cores that would lie in the film over the copper."""
    stackup, stand = design.board.stackup, design.stand
    film = "coverlay" if stackup.flexible else "solder mask"
    for name, place, standing in _bodies(design):
        lifted = stand.above if place == "top" else stand.below
        if lifted or place not in stackup.masked_faces:
            continue
        apart = standing.bottom if place == "top" else -stand.thickness - standing.top
        if apart < stackup.mask_thickness - _LEAST:
            yield (
                f"{name} is told to stand {in_mm(apart)} from the copper on the {place}, where {film} is "
                f"{in_mm(stackup.mask_thickness)} thick: heights and gaps count from the outer copper's "
                "face. Give as its gap what film, glue and air add up to."
            )


def _bodies(design: Design) -> Iterator[tuple[str, str, Standing]]:
    """Name, side, heights."""
    for number, (core, standing) in enumerate(zip(design.core, design.stand.standing, strict=True), start=1):
        if core.place != "pocket":
            yield f"Core {number}", core.place, standing
    if design.magnet is not None:
        yield "The magnet", design.magnet.place, design.stand.of(design.magnet)
    if design.target is not None:
        yield "The target", design.target.place, design.stand.of(design.target)
