"""Temperatures of a thin board with its winding and leads, by finite differences over all of it in plan.

Independent of the tool's network: the art as delivered is cut into small rectangles; each is a sheet of
laminate with the copper that lies on it, loses heat from both faces, and makes what its copper makes. Of one
temperature through its thickness, which films are.
"""

import numpy as np
import shapely
from scipy.sparse import coo_array, diags_array
from scipy.sparse.linalg import spsolve

from coilgen.design.stackup import laminate as facts_of
from coilgen.geometry.extent import extent
from coilgen.geometry.isometry import Isometry
from coilgen.geometry.region import chords
from coilgen.layout.seen import copper_edges

COPPER, SIGMA = 398.0, 5.670374e-8
CHORDS = 5e-6


def points(path):
    return np.asarray(chords(path, CHORDS), dtype=float)


def lines(low, high, edges, fine, coarse):
    """Grid lines from low to high: fine at some places, growing away from them up to coarse."""
    found = [low]
    while found[-1] < high - 1e-9:
        near = np.abs(found[-1] - np.asarray(edges)).min()
        found.append(found[-1] + min(coarse, fine + 0.3 * near))
    return np.array([*found[:-1], high])


def edges(case):
    """Outer edge of each winding where it lies."""
    if not case.windings:
        return [copper_edges(case.design)[0]]
    return [
        copper_edges(each.design)[0].moved(Isometry.placed(each.rotation, each.centre))
        for each in case.design.windings
    ]


def cut(case, fine, coarse):
    """Lines x and y: fine across the leads, which run south."""
    low, high = extent(case.art.outline)
    south = min(extent(edge)[0].imag for edge in edges(case))
    paths = [(trace, segment) for trace in case.coil.traces for segment in trace.path.segments]
    far = [(trace, segment.end) for trace, segment in paths if segment.end.imag < south]
    sides = [end.real + way * trace.width / 2 for trace, end in far for way in (-1, 1)]
    ends = [end.imag for _, end in far]
    return lines(low.real, high.real, sides, fine, coarse), lines(low.imag, high.imag, ends, 3 * fine, coarse)


def hottest(case, current, film, *, fine=5e-5, coarse=2e-4):
    """Hottest of the copper beyond the windings' edges and of the windings', degC.

    current: A, of all copper, or by the net. film: W/(m² K) of each face besides its radiation.
    """
    stackup = case.design.board.stackup
    x, y = cut(case, fine, coarse)
    at = np.stack(np.meshgrid((x[:-1] + x[1:]) / 2, (y[:-1] + y[1:]) / 2), axis=2).reshape(-1, 2)
    area = np.outer(np.diff(y), np.diff(x)).ravel()

    def inside(region):
        return shapely.contains_xy(region, at[:, 0], at[:, 1])

    board = inside(shapely.Polygon(points(case.art.outline)))
    wound = np.any([inside(shapely.Polygon(points(edge))) for edge in edges(case)], axis=0)
    conducts = stackup.laminate.heat_conductivity_in_plane
    sheet = np.full(len(at), conducts * sum(stackup.dielectric))
    sheet[~wound] += conducts * len(stackup.masked_faces) * stackup.mask_thickness
    for stiff in case.art.stiffeners:
        own = inside(shapely.Polygon(points(stiff.path)))
        sheet[own] += facts_of(stiff.material).heat_conductivity_in_plane * stiff.thickness
    made, copper = np.zeros(len(at)), np.zeros(len(at), dtype=bool)
    for trace in case.coil.traces:
        thick = stackup.copper[trace.layer - 1]
        own = inside(shapely.LineString(points(trace.path)).buffer(trace.width / 2)) & board
        sheet[own] += COPPER * thick
        through = current[trace.net] if isinstance(current, dict) else current
        ohm = stackup.metal.resistivity * trace.path.length / (trace.width * thick)
        made[own] += through**2 * ohm * area[own] / area[own].sum()
        copper |= own
    hot = temperatures(x, y, np.where(board, sheet, 0.0), made, board, film, case.design)
    return float(hot[copper & ~wound].max()), float(hot[copper & wound].max())


def temperatures(x, y, sheet, made, board, film, design):
    """Of all cells, degC; made: W at 20 degC in each."""
    rows, columns = len(y) - 1, len(x) - 1
    number = np.arange(rows * columns).reshape(rows, columns)
    dx, dy, k = np.diff(x), np.diff(y)[:, None], sheet.reshape(rows, columns)
    with np.errstate(divide="ignore"):
        across = dy / (dx[:-1] / 2 / k[:, :-1] + dx[1:] / 2 / k[:, 1:])
        along = dx / (dy[:-1] / 2 / k[:-1] + dy[1:] / 2 / k[1:])
    one = np.concatenate([number[:, :-1].ravel(), number[:-1].ravel()])
    other = np.concatenate([number[:, 1:].ravel(), number[1:].ravel()])
    joints = coo_array((np.append(across, along), (one, other)), shape=(len(sheet), len(sheet))).tocsr()
    joints = joints + joints.T
    conduction = diags_array(np.asarray(joints.sum(axis=1)).ravel()) - joints
    area, air = (dy * dx).ravel(), design.drive.ambient + 273.15
    alpha = design.board.stackup.metal.temperature_coefficient
    hot = np.full(len(sheet), air)
    for _ in range(30):
        loss = film + design.mounting.emissivity * SIGMA * (hot**2 + air**2) * (hot + air)
        grown = made * (1 + alpha * (air - 293.15))
        # What grows with the rise stands on the left: it converges where copper heats itself too.
        system = conduction + diags_array(np.where(board, 2 * area * loss - made * alpha, 1.0))
        new = air + spsolve(system.tocsc(), grown)
        if np.abs(new - hot).max() < 1e-2:
            break
        hot = new
    return hot - 273.15
