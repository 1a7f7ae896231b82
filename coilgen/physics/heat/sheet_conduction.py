"""Heat along a thin sheet with islands in it that conduct otherwise."""


def islands_conductivity(sheet: float, islands: float, coverage: float) -> float:
    """Conductivity of a sheet with round islands in it that do not touch, along the sheet; of one unit.

    sheet, islands: conductivities; coverage: share of the area that islands cover, 0 to 1. Maxwell 1873 and
    Eucken 1940, in two dimensions Rayleigh 1892 to first order: exact for few and for all, a lower bound for
    any that conduct better (Hashin and Shtrikman 1962). Islands of copper have next to no resistance, and
    the sheet between them still carries the heat:

    >>> round(islands_conductivity(0.8, 398.0, 0.024) / 0.8, 3)
    1.049
    >>> round(islands_conductivity(0.8, 398.0, 1.0), 6)
    398.0
    """
    more = coverage * (islands - sheet) / (islands + sheet)
    return sheet * (1 + more) / (1 - more)
