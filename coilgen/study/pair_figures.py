"""What figures of a pair of boards have in common."""

from coilgen.result.figure import Figure

CHORDS = 3e-5
"""m, largest distance between an arc of a winding and its chord."""


def pair_figure(
    name: str, value: object, unit: str, says: str, model: str, band: tuple[float, float] | None = None
) -> Figure:
    """A figure that no one design has."""
    return Figure(
        name=name, value=value, unit=unit, says=says, group="field", model=model, band=band, cautions=()
    )
