"""Fixed bodies beside many windings: what they add to each, combined from a few solved states.

While nothing saturates, the magnetisation answers the winding in proportion. Each winding is a sum of unit
currents, such as rings. The answers to some of them are solved; that to any sum of all is the sum of the
solved states with the least co-energy (Galerkin's method), whose linkage is off by the square of what is off
in it.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats
from coilgen.physics.base.constants import MU0
from coilgen.physics.core.body import Body
from coilgen.physics.core.cells import Tangent
from coilgen.physics.core.descent import conjugate_gradients
from coilgen.physics.core.holding import Holding, holding, holding_loads
from coilgen.physics.core.load import FluxDensity, winding_load
from coilgen.physics.core.magnet_force import forces_of_states
from coilgen.physics.core.magnet_side import Magnet
from coilgen.physics.core.magnetisation_curve import Curve
from coilgen.physics.core.on_grid import EXACTLY, at_rest, set_up
from coilgen.physics.core.soft_core import Core, Magnetised, load_size, magnetised
from coilgen.physics.field.filaments import Filaments

_ROUGHLY = 1e-3
_ENOUGH = 0.02
"""Of a load, that no state answers: linkages are then right to some ten-thousandths."""


@dataclass(frozen=True, kw_only=True)
class Combined:
    """Forms in the r unit currents, which a winding carries so many times each, t (r,), at one ampere.

    linkage: t . linkage . t is the inductance that the bodies add, H, (r, r). pull: likewise the force along
    z on the target, N/A2; None without one. push: t . push is the force along z of the bodies on the magnet
    that an ampere adds, N/A, (r,); None without one. states: how many were solved.
    """

    linkage: Floats
    pull: Floats | None
    push: Floats | None
    states: int


def beside_cores(
    units: Sequence[Filaments],
    cores: tuple[Body, ...],
    curves: tuple[Curve, ...],
    cell: float,
    usual: Floats,
    magnet: Magnet | None = None,
    applied: FluxDensity | None = None,
) -> Combined:
    """Of cores on a grid of cells `cell`, m. usual: ampere-turns of the unit currents, (r,), about which the
    cores answer in proportion. magnet: that is pushed, and its field, which magnetises them: then they answer
    as without current."""
    one = set_up(units[0], cores, curves, cell, applied)
    loads = np.array([one.load, *(winding_load(one.core.grid, path) for path in units[1:])])
    bent = applied is not None
    tangent = _tangent(one.core, at_rest(one)) if bent else _secant(one.core, usual @ loads)
    states, shares = _answers(one.core, tangent, loads)
    push = None if magnet is None else forces_of_states(one.core, magnet, states) @ shares
    return Combined(linkage=_linkage(loads, states, shares), pull=None, push=push, states=len(states))


def beside_target(
    units: Sequence[Filaments],
    target: Body,
    cores: tuple[Body, ...],
    curves: tuple[Curve, ...],
    cell: float,
    usual: Floats,
) -> Combined:
    """Of a target and cores on a grid of cells `cell`, m; curves: the target's, then the cores'.

    usual: ampere-turns of the unit currents, (r,), about which all answer in proportion.
    """
    one = holding(units[0], target, cores, curves, cell)
    told = [(one.load, one.lower.flat, one.upper.flat)]
    told += [holding_loads(one.core.grid, path, one.move) for path in units[1:]]
    loads, lower, upper = (np.array(each) for each in zip(*told, strict=True))
    states, shares = _answers(one.core, _secant(one.core, usual @ loads), loads)
    return Combined(
        linkage=_linkage(loads, states, shares),
        pull=_pull(one, states, shares, upper - lower),
        push=None,
        states=len(states),
    )


def _secant(core: Core, load: Floats) -> Tangent:
    """What the cells resist under a load, as if each one's reluctivity were that at all fields."""
    return _tangent(core, magnetised(core, load, tolerance=_ROUGHLY)).as_if_straight()


def _tangent(core: Core, state: Magnetised) -> Tangent:
    """About a state, on the faces that are solved for."""
    return core.packed.cells.tangent(core.pack(state.m))


def _answers(core: Core, tangent: Tangent, loads: Floats) -> tuple[Floats, Floats]:
    """Solved states (k, n), and their shares (k, r) in the answer to each load (r, n).

    Solved is the load that is answered least, until all are.
    """
    sizes = np.array([load_size(core, load) for load in loads])
    used, left = list[int](), loads
    states: Floats = np.zeros((0, loads.shape[1]))
    shares: Floats = np.zeros((0, len(loads)))
    while len(used) < len(loads):
        off = np.array([load_size(core, each) for each in left]) / sizes
        if off.max() <= _ENOUGH:
            break
        used.append(int(off.argmax()))
        solved = conjugate_gradients(core.packed, tangent, core.pack(loads[used[-1]]), EXACTLY)
        states = np.vstack([states, core.spread(solved)])
        energies = states @ loads[used].T
        shares = np.asarray(np.linalg.solve((energies + energies.T) / 2, states @ loads.T), np.float64)
        left = loads - shares.T @ loads[used]
    return states, shares


def _linkage(loads: Floats, states: Floats, shares: Floats) -> Floats:
    found = MU0 * (loads @ states.T) @ shares
    symmetric: Floats = (found + found.T) / 2
    return symmetric


def _pull(one: Holding, states: Floats, shares: Floats, higher: Floats) -> Floats:
    """As `Holding.force`, of all pairs; higher: loads with the target higher less those with it lower."""
    risen = replace(one.core, between=one.rise)
    own = 0.5 * shares.T @ (states @ np.array([risen.demagnetising(m) for m in states]).T) @ shares
    found = -MU0 * (own - (higher @ states.T) @ shares) / (2.0 * one.move)
    symmetric: Floats = (found + found.T) / 2
    return symmetric
