"""Permeability of round bodies at the level of a drive: each body's mean flux density on its own curve."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.physics.base.constants import MU0
from coilgen.physics.core.magnetisation_curve import Curve
from coilgen.physics.metal.ring_field import Rings
from coilgen.physics.metal.round_mesh import ROUGHLY, RoundBody, round_mesh
from coilgen.physics.metal.round_system import Outlines, factored, outlines, system_of

_SLOW = 1.0
"""Hz: a mesh for direct current."""
_STEPS, _CLOSE = 12, 0.01
_FIRST_SHARE, _LEAST_SHARE, _MOST_SHARE = 0.5, 0.2, 1.5
"""Of the way to the permeability that one leads to: the first step, and later ones."""
_LEAST_SWING = 0.01
"""Of a bias: smaller swings see the same slope of the curve."""


@dataclass(frozen=True, kw_only=True)
class AtRest:
    """Bodies on a mesh for direct current, and the root mean square flux density in each, (n,) T/A."""

    known: Outlines
    flux_density: Floats

    def with_permeabilities(self, permeabilities: Floats) -> "AtRest":
        """The bodies with others on the same mesh; those that were not magnetic stay so."""
        bodies = [
            replace(body, permeability=float(mu))
            for body, mu in zip(self.known.bodies, permeabilities, strict=True)
        ]
        return AtRest(known=self.known, flux_density=_flux_densities(self.known, bodies))


def at_rest(bodies: Sequence[RoundBody], rings: Rings, detail: float) -> AtRest:
    """Bodies near rings of direct current; detail: as in `round_metal`, m."""
    still = [replace(body, conductivity=0.0) for body in bodies]
    known = outlines(round_mesh(still, rings, _SLOW, detail, ROUGHLY), still, rings)
    return AtRest(known=known, flux_density=_flux_densities(known, still))


def _flux_densities(known: Outlines, bodies: Sequence[RoundBody]) -> Floats:
    system = system_of(known, bodies)
    whole = system.own - factored(system.stiffness)(system.at_rest)
    found = []
    for body, gradient in zip(bodies, known.gradients, strict=True):
        section = 0.5 * (body.outer**2 - body.inner**2) * (body.top - body.bottom)
        found.append(np.sqrt(max(0.0, float(whole @ (gradient @ whole))) / section))
    return np.array(found)


def drive_permeabilities(
    weak: AtRest,
    curves: Sequence[Curve | None],
    current: float,
    *,
    bias: Floats | None = None,
) -> Floats:
    """Relative permeability B / mu0 H of each body at its mean flux density under a current, A.

    weak: the bodies with permeabilities to begin with. curves: None where the body's own holds. bias: (n,) T,
    mean flux density of a magnet, about which the current's swings to both sides, as if along it. Sought in
    logarithms until the permeability assumed and that of the flux density it leads to agree within 1 %: by
    half the way between both at first, then by as much of it as each body's last step has closed.
    """
    now, found = weak, np.array([body.permeability for body in weak.known.bodies])
    held = np.zeros(len(found)) if bias is None else bias
    share, last = np.full(len(found), _FIRST_SHARE), np.zeros(len(found))
    for _ in range(_STEPS):
        flux = abs(current) * now.flux_density
        wanted = np.array(
            [
                mu if curve is None else chord_permeability(curve, float(b), float(rest))
                for mu, curve, b, rest in zip(found, curves, flux, held, strict=True)
            ]
        )
        step = np.log(wanted / found)
        if np.any(last):
            closed = np.divide(last - step, share * last, out=1.0 / share, where=last != 0.0)
            share = 1.0 / np.clip(closed, 1.0 / _MOST_SHARE, 1.0 / _LEAST_SHARE)
        found, last = found * np.exp(share * step), step
        if np.abs(step).max(initial=0.0) < _CLOSE:
            break
        now = weak.with_permeabilities(found)
    return found


def chord_permeability(curve: Curve, flux_density: float, bias: float = 0.0) -> float:
    """Relative, of a swing to both sides of a bias, T >= 0; that in weak fields where there is neither."""
    if curve.straight or max(flux_density, bias) <= 0.0:
        return curve.permeability
    swing = max(flux_density, _LEAST_SWING * bias)
    ends = (bias - swing, bias + swing)
    low, high = (float(np.sign(b)) * _field(curve, abs(b)) for b in ends)
    return max(1.0, 2.0 * swing / (MU0 * (high - low)))


def _field(curve: Curve, flux_density: float) -> float:
    """H, A/m, of a curve at a flux density, T >= 0."""
    top = flux_density / MU0
    low, high = 0.0, top
    for _ in range(60):
        middle = 0.5 * (low + high)
        both = middle + float(curve.applied(np.array([middle]))[0])
        low, high = (middle, high) if both < top else (low, middle)
    return top - 0.5 * (low + high)
