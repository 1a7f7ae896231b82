"""Line charges in a stack of flat dielectrics with free space on both sides, as sums of image charges."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from coilgen.frozen import dataclass

Floats = NDArray[np.float64]

VACUUM_PERMITTIVITY = 8.8541878128e-12
"""Electric constant, F/m (CODATA 2018)."""

HEIGHT_TOLERANCE = 1e-9
"""Heights closer than this (m) are one plane."""

_NODE_RATIO = 1.6  # step of the image depths
_WAVENUMBERS = 72
_FAR_FIELD_WEIGHT = 1e4  # holds the total of the images to the free-space charge


@dataclass(frozen=True, kw_only=True)
class ImageCharges:
    """What a line charge on one plane looks like from another, as images in vacuum.

    strength (n, n, m): strength of each image as a share of the charge; separation (n, n), m: distance
    of the two planes; depth (m,), m: how much further than the separation each image lies;
    fit_error: largest error of the fitted spectrum, as a share of a charge in vacuum.
    """

    strength: Floats
    separation: Floats
    depth: Floats
    fit_error: float


def image_charges(levels: ArrayLike, interfaces: ArrayLike, permittivity: ArrayLike) -> ImageCharges:
    """Images that stand for a line charge on plane b as seen from plane a, for all pairs of levels.

    levels (n,), m: heights of charges and observers. interfaces (i,), m: rising heights of the planes
    between dielectrics. permittivity (i - 1,): relative permittivity between successive interfaces; free
    space outside. The potential at level a, sideways distance x, of q C/m on level b is
    -q / (2 pi e0) sum_m strength[a, b, m] ln sqrt(x**2 + (separation[a, b] + depth[m])**2) + constant.

    The spectrum in x follows from the wave admittance of the stack (transmission-line form of Laplace's
    equation, as in Collin, Field Theory of Guided Waves, 1960); a sum of decaying exponentials is fitted
    to it. The strengths sum to 1: from far away the thin stack is not seen.

    A half space of permittivity 5 behaves as two media do: a charge on its face counts 2 / (1 + 5)
    (Smythe, Static and Dynamic Electricity, image in a plane dielectric), until its far face is felt.

    >>> images = image_charges([0.0], [-1.0, 0.0], [5.0])
    >>> round(float(images.strength[0, 0, 0]), 3), round(float(images.strength.sum()), 6)
    (0.333, 1.0)
    """
    heights = np.asarray(levels, dtype=np.float64)
    faces, relative = _checked_stack(interfaces, permittivity)
    planes = _merged(np.concatenate([heights, faces]))
    depth = _image_depths(planes, faces)
    wavenumber = np.concatenate([[0.0], _wavenumbers(depth)])
    spectrum = _spectrum(wavenumber, planes, _slab_permittivity(planes, faces, relative))
    row = np.searchsorted(planes + HEIGHT_TOLERANCE, heights)
    wanted = spectrum[:, row[:, None], row[None, :]]
    strength, fit_error = _fitted_strengths(wavenumber, depth, wanted)
    separation = np.abs(heights[:, None] - heights[None, :])
    return ImageCharges(strength=strength, separation=separation, depth=depth, fit_error=fit_error)


def _checked_stack(interfaces: ArrayLike, permittivity: ArrayLike) -> tuple[Floats, Floats]:
    faces = np.asarray(interfaces, dtype=np.float64)
    relative = np.asarray(permittivity, dtype=np.float64)
    if faces.ndim != 1 or relative.shape != (max(faces.size - 1, 0),):
        raise ValueError("permittivity must have one value between each two successive interfaces")
    if np.any(np.diff(faces) <= HEIGHT_TOLERANCE):
        raise ValueError("interfaces must rise")
    if not np.all(relative >= 1.0):
        raise ValueError("relative permittivity must be 1 or more")
    return faces, relative


def _merged(heights: Floats) -> Floats:
    """Rising heights, those within the tolerance of their predecessor left out."""
    rising = np.sort(heights)
    keep = np.concatenate([[True], np.diff(rising) > HEIGHT_TOLERANCE])
    return np.asarray(rising[keep])


def _slab_permittivity(planes: Floats, faces: Floats, relative: Floats) -> Floats:
    """Relative permittivity between successive planes, (planes - 1,)."""
    middle = (planes[1:] + planes[:-1]) / 2
    bounded = np.concatenate([[1.0], relative, [1.0]]) if faces.size else np.ones(1)
    return np.asarray(bounded[np.searchsorted(faces, middle)])


def _image_depths(planes: Floats, faces: Floats) -> Floats:
    """Depths of the images, (m,): zero, then geometric from the nearest image to far below the stack."""
    if faces.size == 0:
        return np.zeros(1)
    gaps = np.abs(planes[:, None] - faces[None, :])
    nearest = 2 * float(np.min(gaps[gaps > HEIGHT_TOLERANCE]))
    furthest = 40 * float(planes[-1] - planes[0])
    count = 2 + int(np.ceil(np.log(furthest / nearest) / np.log(_NODE_RATIO)))
    return np.concatenate([[0.0], np.geomspace(nearest / _NODE_RATIO, furthest, count)])


def _wavenumbers(depth: Floats) -> Floats:
    if depth.size == 1:
        return np.ones(1)
    return np.geomspace(0.2 / depth[-1], 6 / depth[1], _WAVENUMBERS)


def _spectrum(wavenumber: Floats, planes: Floats, relative: Floats) -> Floats:
    """2 e0 k times the potential spectrum, freed of exp(-k separation), (k, planes, planes).

    1 in vacuum for all k, and for k = 0 in any stack.
    """
    thickness = np.diff(planes)
    upward, up_step = _admittance(wavenumber, thickness[::-1], relative[::-1])
    downward, _ = _admittance(wavenumber, thickness, relative)
    upward, up_step = upward[:, ::-1], up_step[:, ::-1]
    level = np.log(2 / (upward + downward))
    climb = np.concatenate([np.zeros((wavenumber.size, 1)), np.cumsum(np.log(up_step), axis=1)], axis=1)
    above = np.exp(level[:, None, :] + climb[:, :, None] - climb[:, None, :])
    lower = np.tril(np.ones((planes.size, planes.size), dtype=bool))
    return np.asarray(np.where(lower, above, above.transpose(0, 2, 1)))


def _admittance(wavenumber: Floats, thickness: Floats, relative: Floats) -> tuple[Floats, Floats]:
    """Admittance over e0 k looking back through the slabs, (k, planes), and each slab's share passed on.

    Slabs in order from free space; the share (k, slabs) is the potential ratio across a slab, seen from
    its far side, without exp(-k thickness).
    """
    admittance = np.ones((wavenumber.size, thickness.size + 1))
    passed = np.empty((wavenumber.size, thickness.size))
    for slab, (height, permittivity) in enumerate(zip(thickness, relative, strict=True)):
        decay = np.exp(-2 * wavenumber * height)
        ratio = admittance[:, slab] / permittivity
        passed[:, slab] = 2 / (1 + decay + ratio * (1 - decay))
        tangent = (1 - decay) / (1 + decay)
        admittance[:, slab + 1] = permittivity * (ratio + tangent) / (1 + ratio * tangent)
    return admittance, passed


def _fitted_strengths(wavenumber: Floats, depth: Floats, spectrum: Floats) -> tuple[Floats, float]:
    """Least-squares strengths (n, n, m) of exponentials exp(-k depth), and the largest error left."""
    shape = spectrum.shape[1:]
    wanted = spectrum.reshape(wavenumber.size, -1)
    decays = np.exp(-wavenumber[:, None] * depth[None, :])
    weight = np.where(wavenumber == 0, _FAR_FIELD_WEIGHT, 1.0)[:, None]
    strength = np.linalg.lstsq(decays * weight, wanted * weight, rcond=1e-13)[0]
    error = float(np.max(np.abs(decays @ strength - wanted)))
    return strength.T.reshape(*shape, depth.size), error
