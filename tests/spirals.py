"""Windings as conductor arrays for the tests of inductance: polygons, quarter arcs, Archimedean polylines."""

from dataclasses import dataclass, fields, replace

import numpy as np

from coilgen.physics.base.conductor import Conductor

MM = 1e-3


@dataclass(frozen=True, kw_only=True)
class Section:
    """Strip width and thickness, and heights of the layers, in mm."""

    width: float
    thickness: float = 0.035
    heights: tuple[float, ...] = (0.0,)


def polygon_spiral(sides: int, turns: int, apothem: float, pitch: float, section: Section) -> Conductor:
    """Side k of the centre line lies at apothem + k pitch / sides; mm."""
    number = np.arange(-1, sides * turns + 1)
    angle = 2 * np.pi * number / sides
    reach = apothem + pitch * number / sides
    normal = np.exp(1j * angle)
    # The vertex between two neighbouring sides: along the first normal its apothem, across it what is left.
    turn = 2 * np.pi / sides
    across = (reach[1:] - reach[:-1] * np.cos(turn)) / np.sin(turn)
    vertex = normal[:-1] * (reach[:-1] + 1j * across)
    return stacked(polyline(vertex, section), section.heights)


def round_spiral(turns: int, radius: float, pitch: float, section: Section) -> Conductor:
    """Tangent quarter arcs about four centres a quarter pitch apart, mean start radius `radius`; mm."""
    step = pitch / 4
    number = np.arange(4 * turns)
    towards = np.exp(0.5j * np.pi * number)
    centre = -step * np.concatenate([[0.0], np.cumsum(np.exp(0.5j * np.pi * (number[:-1] + 1)))])
    centre = centre - centre[:4].mean()
    reach = radius + pitch / 8 + step * number
    flat = _conductor(centre + reach * towards, centre + reach * 1j * towards, section)
    arcs = replace(flat, centre=_columns(centre), sweep=np.full(4 * turns, 0.5 * np.pi))
    return stacked(arcs, section.heights)


def archimedean_spiral(
    turns: int, radius: float, pitch: float, section: Section, chords: int = 36
) -> Conductor:
    """Chords of radius + pitch angle / 2 pi, whose vertices stand off to keep the sectors' areas; mm."""
    angle = 2 * np.pi * np.arange(turns * chords + 1) / chords
    step = 2 * np.pi / chords
    reach = np.sqrt(step / np.sin(step)) * (radius + pitch * angle / (2 * np.pi))
    return stacked(polyline(reach * np.exp(1j * angle), section), section.heights)


def polyline(vertices: np.ndarray, section: Section) -> Conductor:
    """Straight pieces between complex points in mm, on layer 1 at the first height."""
    return _conductor(vertices[:-1], vertices[1:], section)


def loop(radius: float, section: Section) -> Conductor:
    """One circle of four arcs about the origin; mm."""
    return round_spiral(1, radius, 0.0, section)


def stacked(layer: Conductor, heights: tuple[float, ...]) -> Conductor:
    """The same layer at every height, mm, each second one mirrored y to -y and run backwards."""
    layers = [layer if k % 2 == 0 else mirrored(layer) for k in range(len(heights))]
    return joined(*(placed(one, k + 1, z) for k, (one, z) in enumerate(zip(layers, heights, strict=True))))


def placed(conductor: Conductor, layer: int, height: float) -> Conductor:
    """The same on one layer, at a height in mm."""
    ones = np.ones(len(conductor.sweep))
    return replace(conductor, layer=layer * ones.astype(np.int64), z=height * MM * ones)


def joined(*parts: Conductor) -> Conductor:
    """All pieces, one conductor's after another's."""
    names = [field.name for field in fields(Conductor)]
    return Conductor(**{name: np.concatenate([getattr(part, name) for part in parts]) for name in names})


def mirrored(conductor: Conductor) -> Conductor:
    """Mirrored y to -y, the current backwards: the sense of circulation stays."""
    flip = np.array([1.0, -1.0])
    back = reversed_current(conductor)
    # Mirroring turns the sense of an arc, running backwards turns it again.
    return replace(
        back, start=back.start * flip, end=back.end * flip, centre=back.centre * flip, sweep=-back.sweep
    )


def reversed_current(conductor: Conductor) -> Conductor:
    """The same copper with the current the other way."""
    parts = {field.name: getattr(conductor, field.name)[::-1] for field in fields(Conductor)}
    return Conductor(**{**parts, "start": parts["end"], "end": parts["start"], "sweep": -parts["sweep"]})


def turned(conductor: Conductor, angle: float) -> Conductor:
    """Turned about the origin, counter-clockwise, rad."""
    matrix = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    return replace(
        conductor,
        start=conductor.start @ matrix,
        end=conductor.end @ matrix,
        centre=conductor.centre @ matrix,
    )


def scaled(conductor: Conductor, factor: float) -> Conductor:
    """All lengths times a factor."""
    lengths = ("start", "end", "centre", "width", "thickness", "z")
    return replace(conductor, **{name: factor * getattr(conductor, name) for name in lengths})


def _conductor(start: np.ndarray, end: np.ndarray, section: Section) -> Conductor:
    ones = np.ones(len(start))
    return Conductor(
        start=_columns(start),
        end=_columns(end),
        centre=np.full((len(start), 2), np.nan),
        sweep=0.0 * ones,
        width=section.width * MM * ones,
        thickness=section.thickness * MM * ones,
        z=section.heights[0] * MM * ones,
        layer=ones.astype(np.int64),
    )


def _columns(points: np.ndarray) -> np.ndarray:
    return MM * np.stack([points.real, points.imag], axis=1)
