"""Inductance of what joins the coils of an array: its own, and with the coils.

Mutual inductances of coils are those of loops, each closed straight from its last pin to its first. So
joints count as one more loop: all their pieces, and the straight ways between the coils' pins back again.
"""

from dataclasses import fields, replace

import numpy as np

from coilgen.figures.field._paths import strand_path
from coilgen.figures.several._network import joints_of, pieces
from coilgen.layout.coil import strands
from coilgen.layout.joint_network import Flow
from coilgen.layout.joint_parts import START
from coilgen.physics.base.conductor import Conductor, Floats
from coilgen.physics.field.filaments import filaments, refined
from coilgen.result.figure import Case

_CHORDS = 1e-4
"""Largest distance between an arc and its chord, m: what joints add is little."""
_CUT = 5e-4
"""Length of a joint's parts, m, on each of which the coils' potential is taken at two points."""
_GAUSS = (0.5 - 0.5 / 3**0.5, 0.5 + 0.5 / 3**0.5)


def joint_flux(case: Case, one: Flow, other: Flow) -> float:
    """What joints add to the inductance between two ways of one ampere through an array, H."""
    if not len(one.pieces):
        return 0.0
    first, second = strip_currents(case, one), strip_currents(case, other)
    own = float(first @ _partial(case) @ second) + float(one.coils @ (_closing(case) * other.coils))
    return own + float(first @ _with_coils(case) @ other.coils + second @ _with_coils(case) @ one.coils)


def strip_currents(case: Case, flow: Flow) -> Floats:
    """Of all pieces, and of the straight ways between pins, whose current is that of the coil."""
    senses = np.array([each.sense for each in case.design.windings], float)
    return np.concatenate([flow.pieces, senses * flow.coils])


def _closing(case: Case) -> Floats:
    """What the straight way that closes a coil adds to its inductance, told without it, (n,) H."""
    ways = np.arange(len(case.windings)) + len(joints_of(case).pieces)
    senses = np.array([each.sense for each in case.design.windings], float)
    with_loop = senses * _with_coils(case)[ways, np.arange(len(case.windings))]
    closing: Floats = -2 * with_loop - _partial(case)[ways, ways]
    return closing


def joint_strips(case: Case) -> list[Conductor]:
    """Pieces of the joints, and for each coil the way from where its current enters to where it leaves."""
    return case.once("joint strips", lambda: [*pieces(case), *_ways(case)])


def _ways(case: Case) -> list[Conductor]:
    found = []
    stackup = case.design.board.stackup
    for k, placed in enumerate(case.design.windings):
        first, last = (case.windings[k].coil.terminals[end].at for end in (START, 1 - START))
        if placed.sense < 0:
            first, last = last, first
        found.append(
            Conductor(
                start=np.array([[first.real, first.imag]]),
                end=np.array([[last.real, last.imag]]),
                centre=np.full((1, 2), np.nan),
                sweep=np.zeros(1),
                width=np.array([placed.design.winding.trace_width]),
                thickness=np.array([stackup.copper[0]]),
                z=np.array([stackup.height(1)]),
                layer=np.array([1]),
            )
        )
    return found


def _partial(case: Case) -> Floats:
    """Partial inductances of the strips, (n, n) H."""
    return case.once("joint partial inductances", lambda: _partials(joint_strips(case)))


def _partials(strips: list[Conductor]) -> Floats:
    from coilgen.physics.inductance.winding import layer_inductances

    told = [replace(each, layer=np.full(len(each.width), k + 1)) for k, each in enumerate(strips)]
    names = [field.name for field in fields(Conductor)]
    whole = Conductor(**{name: np.concatenate([getattr(each, name) for each in told]) for name in names})
    return layer_inductances(whole).matrix


def _with_coils(case: Case) -> Floats:
    """Flux of a strip's ampere through each coil, (strips, coils) H."""
    return case.once("joints with coils", lambda: _linkages(case))


def _linkages(case: Case) -> Floats:
    from coilgen.physics.field.strip_field import strips_vector_potential

    lines = [refined(filaments(each, tolerance=_CHORDS, closed=False), _CUT) for each in joint_strips(case)]
    owner = np.repeat(np.arange(len(lines)), [len(line.width) for line in lines])
    start, end = (np.concatenate([getattr(line, name) for line in lines]) for name in ("start", "end"))
    found = np.zeros((len(lines), len(case.windings)))
    for k, each in enumerate(case.windings):
        path = strand_path(strands(each.passed, case.design.board.stackup), _CHORDS)
        for at in _GAUSS:
            potential = strips_vector_potential(path, start + at * (end - start))
            np.add.at(found[:, k], owner, 0.5 * np.einsum("nk,nk->n", potential, end - start))
    return found
