"""Round, centred bodies of any conducting or magnetic stuff near rings of current: finite elements, all
frequencies at once.

With u = r A = u_s + u_r, u_s that of the rings in free space, and for all v

    integral of (nu / r) grad u_r . grad v + s (sigma / r) u_r v
        = - integral over the bodies of ((nu - nu0) / r) grad u_s . grad v + s (sigma / r) u_s v .

As u_s solves its own equation within the bodies, the first integral on the right is one over their faces:
rough meshes then make no currents of their own in permeable bodies.
"""

import pickle
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.physics.metal.reduction import decays, relaxation
from coilgen.physics.metal.relaxation import Relaxation
from coilgen.physics.metal.ring_field import Rings
from coilgen.physics.metal.round_mesh import RoundBody, round_mesh
from coilgen.physics.metal.round_system import Outlines, System, factored, outlines, system_of

_MOMENTS = 4
"""Vectors of each shift: the solution and its derivatives along s."""
_SHIFTS, _SHIFTS_MORE, _PAST_LOWEST = 4, 3, 10.0
"""Besides 0, for six decades of frequency: of new bodies, and of others on the mesh of known ones."""
_ALIKE = 2.0
"""Ratio of permeabilities up to which bodies share solutions, so that every other shift will do: at 1.5,
where the added inductance changed by a tenth, it was some 2e-4 of the greatest off, the resistance 1e-3; 1e-3
and 4e-3 at most in three designs at the drive's level."""
_ROUGHER = 4.0
"""Permeability over that of the mesh: the spacing is then twice what it would be, over the skin depth."""


@dataclass(frozen=True, kw_only=True)
class Subspace:
    """The bodies on their mesh, and the vectors (n, k) that hold u_r at all frequencies.

    From another process it comes packed, until it is looked at: to unpack it takes scipy, whose import takes
    longer than all else that is told of round bodies.
    """

    known: Outlines
    basis: Floats

    def __reduce__(self) -> tuple[object, ...]:
        return _packed, (pickle.dumps((self.known, self.basis), pickle.HIGHEST_PROTOCOL),)

    def __getattr__(self, name: str) -> object:
        packed = self.__dict__.pop("packed", None)
        if packed is None:
            raise AttributeError(name)
        self.__dict__["known"], self.__dict__["basis"] = pickle.loads(packed)
        return getattr(self, name)


def _packed(packed: bytes) -> Subspace:
    found = Subspace.__new__(Subspace)
    found.__dict__["packed"] = packed
    return found


@dataclass(frozen=True, kw_only=True)
class RoundMetal:
    """What round bodies add, in the order they were given.

    The flux in a body is that between the two of its places where direct current's flux function is most and
    least: what enters a plate's face, what passes a rod's middle. static_flux: (bodies,) Wb of one ampere;
    flux: (bodies, k) sqrt(H), how the relaxation's decays hold it out, see `flux_after_step`; it feels the
    first power of what the subspace lacks, some per cent. subspace: large; of bodies meshed anew, for
    others to begin with.
    """

    relaxation: Relaxation
    flux: Floats
    static_flux: Floats
    subspace: Subspace | None = None


def flux_after_step(metal: RoundMetal, time: Floats) -> Floats:
    """Flux in each body, (n, bodies) Wb, at times (n,) s after one ampere is switched on."""
    fade = np.exp(-time[:, None] / metal.relaxation.time)
    held_out = (metal.relaxation.amplitude * fade) @ metal.flux.T
    return np.asarray(metal.static_flux - held_out)


def round_metal(
    bodies: Sequence[RoundBody],
    rings: Rings,
    lowest: float,
    highest: float,
    *,
    detail: float,
    coarseness: float = 1.0,
    like: RoundMetal | None = None,
) -> RoundMetal:
    """What the bodies add from a lowest to a highest frequency, Hz.

    detail: m, spacing along r that resolves the rings' field at the bodies' faces: about the gap between.
    coarseness: of the mesh, over the usual one. like: the same bodies with other permeabilities, near the
    same rings, whose mesh and currents are begun with; it is left aside where its mesh is too rough.
    """
    if like is not None and like.subspace is not None and _serves(like.subspace.known, bodies):
        begun = like.subspace
        system = system_of(begun.known, bodies)
        if _alike(begun.known, bodies):
            (shifts,) = _dealt(_shifts_for(bodies, lowest, highest, _SHIFTS), 1)
        else:
            shifts = _shifts_for(bodies, lowest, highest, _SHIFTS_MORE)
        more = _basis(system, shifts)
        return _found(system, np.hstack([begun.basis, more]))
    known = outlines(round_mesh(bodies, rings, highest, detail, coarseness), bodies, rings)
    system = system_of(known, bodies)
    parts = [_perfect(system)[:, None]] if system.held.any() else []
    basis = np.hstack([*parts, _basis(system, _shifts_for(bodies, lowest, highest, _SHIFTS))])
    return replace(_found(system, basis), subspace=Subspace(known=known, basis=basis))


def metals_about(
    like: RoundMetal,
    others: Sequence[Sequence[RoundBody]],
    rings: Rings,
    lowest: float,
    highest: float,
    *,
    detail: float,
    coarseness: float = 1.0,
) -> list[RoundMetal]:
    """Each of others like known bodies, but of permeabilities to either side of theirs; as `round_metal`.

    Where they are within a factor of two each is solved at a part of the shifts, and answered from what all
    of them and the known ones found.
    """
    begun = like.subspace
    if begun is None or not all(_alike(begun.known, bodies) for bodies in others):
        told = {"detail": detail, "coarseness": coarseness}
        return [round_metal(one, rings, lowest, highest, **told, like=like) for one in others]
    dealt = _dealt(_shifts_for(others[0], lowest, highest, _SHIFTS), len(others))
    # Systems are large, and soon put together: one at a time.
    found = [_basis(system_of(begun.known, one), own) for one, own in zip(others, dealt, strict=True)]
    basis = np.hstack([begun.basis, *found])
    return [_found(system_of(begun.known, one), basis) for one in others]


def _dealt(shifts: Floats, count: int) -> list[Floats]:
    """Every other one of the shifts, in turn to so many bodies; one alone to each of them."""
    return [shifts] * count if len(shifts) == 1 else [shifts[1::2][k::count] for k in range(count)]


def _alike(known: Outlines, bodies: Sequence[RoundBody]) -> bool:
    """Whether permeabilities are about those of the bodies that were meshed."""
    return all(
        meshed.permeability <= _ALIKE * body.permeability <= _ALIKE**2 * meshed.permeability
        for body, meshed in zip(bodies, known.bodies, strict=True)
    )


def _serves(known: Outlines, bodies: Sequence[RoundBody]) -> bool:
    """Whether the mesh resolves the skin of these bodies too."""
    return all(
        body.permeability <= _ROUGHER * meshed.permeability
        for body, meshed in zip(bodies, known.bodies, strict=True)
    )


def _shifts_for(bodies: Sequence[RoundBody], lowest: float, highest: float, count: int) -> Floats:
    """Real s, 1/s: 0 for direct current, whose derivatives reach past the lowest; more up to the highest.

    For bodies that do not conduct 0 alone.
    """
    if not any(body.conductivity > 0.0 for body in bodies):
        return np.zeros(1)
    low, high = 2.0 * np.pi * lowest, 4.0 * np.pi * highest
    return np.append(0.0, np.geomspace(min(_PAST_LOWEST * low, high), high, count))


def _found(system: System, basis: Floats) -> RoundMetal:
    whole = 2.0 * np.pi
    damping = [basis.T @ (one @ basis) for one in system.damping]
    modes = decays(basis.T @ (system.stiffness @ basis), sum(damping))
    at_rest, moving = basis.T @ system.at_rest, basis.T @ (system.all_damping @ system.own)
    found = relaxation(modes, damping, at_rest, moving, system.energy)
    static = system.own - basis @ (modes.vector @ (modes.vector.T @ at_rest))
    decaying = basis @ modes.lasting.vector
    ends = [_ends(*each, static) for each in zip(system.within, system.solid, strict=True)]
    return RoundMetal(
        relaxation=Relaxation(
            static=whole * found.static,
            amplitude=np.sqrt(whole) * found.amplitude,
            time=found.time,
            damping=found.damping,
        ),
        static_flux=whole * np.array([sign @ static[nodes] for nodes, sign in ends]),
        flux=np.sqrt(whole) * np.array([sign @ decaying[nodes] for nodes, sign in ends]),
    )


def _ends(nodes: NDArray[np.int64], solid: bool, static: Floats) -> tuple[NDArray[np.int64], Floats]:
    """Nodes where the flux function at rest is most and least in a body, and their signs.

    A solid body has the axis too, where it is 0 and no node is free.
    """
    values = static[nodes]
    found = nodes[[int(np.argmax(values)), int(np.argmin(values))]]
    counts = not solid or static[found] * np.array([1.0, -1.0]) > 0.0
    return found, np.where(counts, np.array([1.0, -1.0]), 0.0)


def _basis(system: System, shifts: Floats) -> Floats:
    """Solutions (n, k) at the shifts with their derivatives."""
    vectors = [vector for shift in shifts for vector in _moments(system, float(shift))]
    return np.array([vector for vector in vectors if np.any(vector)]).T


def _moments(system: System, shift: float) -> list[Floats]:
    """The solution (n,) at a shift and its derivatives; the factors, which are large, go with the call."""
    damping = system.all_damping
    moving, solve = damping @ system.own, factored(system.stiffness + shift * damping)
    vectors = [solve(-(system.at_rest + shift * moving))]
    vectors.append(solve(-(moving + damping @ vectors[0])))
    while len(vectors) < _MOMENTS:
        vectors.append(solve(damping @ vectors[-1]))
    return vectors


def _perfect(system: System) -> Floats:
    """u_r where no flux changes in the conductors: s without end."""
    held, loose = np.flatnonzero(system.held), np.flatnonzero(~system.held)
    out = np.where(system.held, -system.own, 0.0)
    rows = system.stiffness[loose]
    out[loose] = factored(rows[:, loose])(-(system.at_rest[loose] + rows[:, held] @ out[held]))
    return out
