"""What the resistances of two strips of different width tell: copper thickness and etch undercut."""

from coilgen.frozen import dataclass


@dataclass(frozen=True, kw_only=True)
class Etched:
    """Thickness of the copper, and by how much strips are narrower than drawn, both sides together, m."""

    thickness: float
    undercut: float


def etched(
    resistances: tuple[float, float],
    lengths: tuple[float, float],
    widths: tuple[float, float],
    resistivity: float,
) -> Etched:
    """From resistances, ohm, of a narrow and a wide strip of lengths and drawn widths, m; resistivity ohm m.

    R = resistivity length / (thickness (width - undercut)) for both, solved for the two unknowns. Lengths are
    effective ones: squares as drawn times the drawn width. ValueError where no undercut explains both.

    >>> found = etched((1.0, 0.2), (0.4, 0.4), (2e-4, 1e-3), 1.7e-8)
    >>> abs(found.undercut) < 1e-12, round(found.thickness * 1e6, 3)
    (True, 34.0)
    """
    (narrow, wide), (length, other) = resistances, lengths
    ratio = narrow * other / (wide * length)
    if ratio <= 1:
        raise ValueError("the wide strip has the higher resistance for its length: the two were exchanged")
    undercut = (ratio * widths[0] - widths[1]) / (ratio - 1)
    return Etched(
        thickness=resistivity * other / (wide * (widths[1] - undercut)),
        undercut=undercut,
    )
