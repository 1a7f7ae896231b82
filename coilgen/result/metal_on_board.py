"""Metal bodies on the board's faces that may short the copper under them."""

from collections.abc import Iterator

from coilgen.artwork.art import Art
from coilgen.design.bodies import Core, Face
from coilgen.design.design import Design
from coilgen.design.mounting import BasePlate
from coilgen.design.soft_material import written
from coilgen.design.stacking import covers, is_metal
from coilgen.result.caution import WARNING, listed

_SOLDER, _FILM = 1e-3, 2e-4
"""Distance from the board, m, within which metal meets the solder of a terminal, and a via through a flaw of
mask and glue; common practice, no source."""


def metal_over_copper(design: Design, board: Art) -> Iterator[str]:
    """What to know of metal on a face that lies over terminals, which stand out of it, or over vias."""
    for name, body, side, distance in _metal_bodies(design):
        under = [
            pad for pad in board.pads_at(side) if any(covers(body, end, pad.diameter / 2) for end in pad.ends)
        ]
        terminals = list(dict.fromkeys(f"{pad.terminal}" for pad in under if pad.terminal))
        vias = sum(pad.terminal is None and not pad.span for pad in under)
        if terminals and distance < _SOLDER:
            which = f"terminal{'s' * (len(terminals) > 1)} {listed(terminals)}"
            yield (
                f"{WARNING}{name} lies over {which} on the {side}: solder holds it off the board, and it may "
                "short the coil. Keep it clear of them."
            )
        if vias and distance < _FILM:
            yield (
                f"{name} lies over {vias} via{'s' * (vias > 1)} on the {side}: solder mask alone does not "
                "insulate reliably, and metal through it shorts turns. Lay an insulating film between."
            )


def _metal_bodies(design: Design) -> Iterator[tuple[str, Core | BasePlate, Face, float]]:
    """Name, body, face and distance from the board, m. The pocket's walls are bare of copper."""
    plate = design.mounting.base_plate
    if plate is not None and is_metal(plate):
        yield f"The base plate ({plate.material})", plate, plate.place, 0.0
    for number, (core, stands) in enumerate(zip(design.core, design.stand.standing, strict=True), start=1):
        if is_metal(core) and core.place != "pocket":
            apart = stands.bottom if core.place == "top" else -design.stand.thickness - stands.top
            yield f"Core {number} ({written(core.material)})", core, core.place, apart
