"""The field from above: what points out of the board at the first probe height, and a film's view of it."""

import numpy as np

from coilgen.figures.core._flux_density import Places, winding_flux_density_at
from coilgen.figures.core._magnetics import core_effect, magnet_for_solvers
from coilgen.figures.field._shown import RIM, shown
from coilgen.geometry.point import Point
from coilgen.physics.base.conductor import Floats
from coilgen.result.figure import Answer, Case, Quantity
from coilgen.result.viewing_film import film_height, film_shows, through_magnet, viewing_film
from coilgen.units import in_mm, readable

ACROSS = 41
"""Points along each side of the square that is mapped."""


def _over_board(case: Case) -> Answer:
    x, y = _plane(case)
    field = normal_flux_density(case, _points)
    return Answer(
        value=[
            {"x": round(float(a), 9), "y": round(float(b), 9), "flux_density": float(f"{normal:.5g}")}
            for a, b, normal in zip(x, y, field, strict=True)
        ],
        model=f"normal to the board, up positive, {_where(case)}; {_counted(case)}",
    )


def _film(case: Case) -> Answer | None:
    """None where no film can lie, and for a field that turns too fast for the flakes."""
    if not film_shows(case.design):
        return None
    film = viewing_film()
    sizes = np.array([abs(row["flux_density"]) for row in case.value("flux_density_over_board")])
    largest, usual, least = (_area(case, sizes, level) for level in film.thresholds)
    return Answer(
        value=usual,
        model=f"of the square that is mapped, where the {film.shows} field {_where(case)} is over "
        f"{readable(film.threshold, 'T', 2)} while the drive is on (largest there "
        f"{readable(float(sizes.max()), 'T', 3)}), and as the film's threshold scatters; {film.says}; "
        f"{film.source}",
        band=(least, largest) if largest > least else None,
    )


def _area(case: Case, sizes: Floats, level: float) -> float:
    """m² of the square over which the field is stronger than a level, T."""
    _, half = _square(case)
    strip = np.full(ACROSS, 2.0 * half / (ACROSS - 1))
    strip[[0, -1]] *= 0.5
    return float(strip @ (sizes.reshape(ACROSS, ACROSS) > level) @ strip)


def _square(case: Case) -> tuple[Point, float]:
    """Middle, and half the side of the square that holds windings, cores and magnet with a rim, m."""
    middle, half = shown(case)
    return middle, RIM * max(half.real, half.imag)


def _plane(case: Case) -> tuple[Floats, Floats]:
    """x and y of the points, row by row from south to north, (n,) m."""
    middle, half = _square(case)
    side = half * np.linspace(-1.0, 1.0, ACROSS)
    x, y = np.meshgrid(middle.real + side, middle.imag + side)
    return x.ravel(), y.ravel()


def _points(case: Case) -> Floats:
    x, y = _plane(case)
    return np.column_stack([x, y, np.full_like(x, film_height(case.design))])


def normal_flux_density(case: Case, places: Places) -> Floats:
    """Flux density along z, (n,) T, at places outside the cores, of all that stands at the board.

    Winding at the drive's current, cores as winding and magnet magnetise them, the magnet's own; no target.
    """
    out, points = winding_flux_density_at(case, places, brisk=True)[:, 2], places(case)
    effect = core_effect(case)
    if effect is not None:
        from coilgen.physics.core.charge_field import core_flux_density

        out = out + core_flux_density(effect.state, points)[:, 2]
    if case.design.magnet is not None:
        out = out + case.kept(_of_magnet, places)
    return out


def _of_magnet(case: Case, places: Places) -> Floats:
    from coilgen.physics.core.magnet_normal import magnet_normal_flux_density

    return magnet_normal_flux_density(magnet_for_solvers(case), places(case))


def _where(case: Case) -> str:
    inside = " (through the magnet)" if through_magnet(case.design) else ""
    return f"{in_mm(case.design.probe.heights[0])} above the top's outermost face{inside}"


def _counted(case: Case) -> str:
    design = case.design
    parts = ["winding at the current while the drive is on"]
    parts += ["cores as they are magnetised then"] if design.core else []
    parts += ["the magnet's own field at its typical remanence"] if design.magnet is not None else []
    away = "" if design.target is None else "; the target away"
    return f"{', '.join(parts)}{away}; copper at 20 degC"


FIGURES = (
    Quantity(
        name="flux_density_over_board",
        unit="table(x m, y m, flux_density T)",
        says="flux density out of the board over its top, as mounted",
        group="field",
        compute=_over_board,
        of="board",
    ),
    Quantity(
        name="viewing_film_area",
        unit="m2",
        says="area that a magnetic viewing film turns dark over at the first probe height",
        group="field",
        compute=_film,
        of="board",
    ),
)
