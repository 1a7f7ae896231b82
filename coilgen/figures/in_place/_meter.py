"""Cautions: what a meter reads near metal, what is assumed of a material, what loss is left out."""

import numpy as np

from coilgen.catalogue import rows
from coilgen.figures.in_place._metal import metal, pieces
from coilgen.result.caution import listed
from coilgen.result.figure import Case
from coilgen.units import readable

USUAL = "soft iron"
"""Whose resistivity a soft material has that says nothing of it."""
LESS = 0.05
"""Of the inductance: what the metal must take for a caution."""
_METER = (1e3, 1e4, 1e5)
"""Hz, at which inductance meters measure."""


def meter_cautions(case: Case, figure: str) -> tuple[str, ...]:
    """What a meter reads at its usual frequencies where metal conducts; none where it reads the same.

    Told once: beside the first inductance of those that take what stands at the coil into account.
    """
    return _cautions(case) if figure == _told_beside(case) and not case.values_only else ()


def _told_beside(case: Case) -> str:
    """The inductance with cores and target, which `compare` reads; the impedance beside other metal."""
    soft = case.design.core or case.design.target
    return "inductance_in_place" if soft else "impedance_in_place"


def _cautions(case: Case) -> tuple[str, ...]:
    return case.once("meter cautions", lambda: (*_readings(case), *_assumed(case)))


def _readings(case: Case) -> tuple[str, ...]:
    from coilgen.physics.metal.relaxation import added_inductance

    found, names = metal(case, "weak"), [piece.name for piece in pieces(case) if piece.conducts]
    if found is None or not names:
        return ()
    bare = float(case.value("inductance"))
    slow, read = (
        bare + found.relaxation.static,
        bare + added_inductance(found.relaxation, np.array(_METER)).real,
    )
    if np.all(np.abs(read / slow - 1) < LESS):
        return ()
    told = ", ".join(
        f"{readable(float(value), 'H', 3)} at {readable(frequency, 'Hz', 3)}"
        for frequency, value in zip(_METER, read, strict=True)
    )
    return (
        f"With eddy currents in {listed(names)} a meter reads {told}, where slow changes see "
        f"{readable(slow, 'H', 3)}; impedance_in_place tells more, and the bands.",
    )


def _assumed(case: Case) -> tuple[str, ...]:
    """Where a material of the user's own says nothing of its resistivity."""
    usual = rows("materials")[USUAL]["resistivity"]
    given = [(f"core {number}", core.material) for number, core in enumerate(case.design.core, 1)]
    if case.design.target is not None:
        given.append(("the target", case.design.target.material))
    return tuple(
        f"No resistivity is told of the material of {name}: that of {USUAL}, {usual:g} ohm m, is assumed."
        for name, material in given
        if material.name == "custom" and material.like is None and material.resistivity == usual
    )


def loss_cautions(case: Case) -> tuple[str, ...]:
    """Where a core that insulates has losses of its own under a drive that changes."""
    frequency = case.design.drive.frequency
    lossy = [
        f"{piece.name} ({piece.material})" for piece in pieces(case) if piece.curve and not piece.conducts
    ]
    if frequency is None or not lossy:
        return ()
    return (
        f"The loss of {listed(lossy)} itself, hysteresis above all, is not eddy loss, and no figure counts "
        f"it: its maker's curves tell it at {readable(frequency, 'Hz', 3)} and the flux density in the core.",
    )
