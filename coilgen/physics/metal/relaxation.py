"""What metal adds to a winding's inductance, as a sum of decaying currents that can only lose energy."""

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from coilgen.frozen import dataclass
from coilgen.physics.base.conductor import Floats

Complexes = NDArray[np.complex128]
_MANY = 100
"""Harmonics within the shorter of on and off, from which on their squares are half on average."""


@dataclass(frozen=True, kw_only=True)
class Relaxation:
    """Added inductance L(s) = static - sum of a s t / (1 + s t) over k decays, SI units, s = j omega.

    static: H, of direct current. amplitude: (k,) sqrt(H), its square is a >= 0. time: (k,) s, over 0.
    damping: (bodies, k, k) s, which body turns the decays into heat; their sum is diagonal: the times.
    With a >= 0 the metal takes in energy at every frequency (R. M. Foster, Bell System Technical Journal 3,
    1924, in the form for resistance and inductance).
    """

    static: float
    amplitude: Floats
    time: Floats
    damping: Floats

    @property
    def strength(self) -> Floats:
        """(k,) H, what each decay takes from the inductance at frequencies far over it."""
        return np.square(self.amplitude)

    @property
    def perfect(self) -> float:
        """Added inductance where currents hold all change of flux out of the metal, H."""
        return float(self.static - self.strength.sum())


def added_inductance(relaxation: Relaxation, frequency: Floats | float) -> Complexes:
    """Complex inductance added at frequencies (n,) Hz: its imaginary part times -omega is a resistance."""
    turn = 2j * np.pi * np.asarray(frequency, dtype=np.float64)[..., None] * relaxation.time
    return np.asarray(relaxation.static - (relaxation.strength * turn / (1.0 + turn)).sum(axis=-1))


def added_impedance(relaxation: Relaxation, frequency: Floats | float) -> Complexes:
    """Impedance added in series with the winding, ohm, at frequencies (n,) Hz."""
    return np.asarray(2j * np.pi * np.asarray(frequency) * added_inductance(relaxation, frequency))


def body_losses(relaxation: Relaxation, frequency: Floats | float, current: float = 1.0) -> Floats:
    """Heat of each body, (n, bodies) W, under a sine of this root mean square current, A."""
    omega = 2.0 * np.pi * np.asarray(frequency, dtype=np.float64)[..., None]
    state = relaxation.amplitude / (1.0 + 1j * omega * relaxation.time)
    heat = np.einsum("...k,bkl,...l->...b", state.conj(), relaxation.damping, state).real
    return np.asarray(np.square(omega * current) * heat)


def square_losses(relaxation: Relaxation, frequency: float, duty: float, highest: float) -> Floats:
    """Heat of each body, (bodies,) ohm: over the mean square of a current that is on for a share of the time.

    Of its harmonics those up to the highest frequency, Hz. Where they are very many their sum is told in
    closed form: that of steps at once, each of which the decays forget as exponentials, less what harmonics
    over the highest would add, as many that their squares are half on average.
    """
    count = int(highest / frequency)
    if count * min(duty, 1 - duty) > _MANY:
        over = 2 * frequency * (_edge(relaxation, math.inf) - _edge(relaxation, highest))
        return np.asarray((_steps(relaxation, frequency, duty) - over) / duty)
    order = np.arange(1, max(2, 1 + count), dtype=np.float64)
    squares = 2 * np.square(np.sin(math.pi * order * duty) / (math.pi * order))
    return np.asarray(squares @ body_losses(relaxation, order * frequency) / duty)


def _steps(relaxation: Relaxation, frequency: float, duty: float) -> Floats:
    """Mean heat (bodies,) W of one ampere switched on and off at once, long after the start."""
    period, rate = 1 / frequency, 1 / relaxation.time
    kick, whole = relaxation.amplitude * rate, -np.expm1(-period * rate)
    found = np.zeros(len(relaxation.damping))
    for lasts, before in ((duty * period, (1 - duty) * period), ((1 - duty) * period, duty * period)):
        begun = kick * -np.expm1(-before * rate) / whole  # what is left of the steps before included
        both = rate[:, None] + rate
        energy = np.outer(begun, begun) * -np.expm1(-both * lasts) / both
        found += frequency * np.einsum("bkl,kl->b", relaxation.damping, energy)
    return found


def _edge(relaxation: Relaxation, highest: float) -> Floats:
    """Energy (bodies,) J that one step of one ampere turns into heat, of frequencies up to the highest, Hz.

    The integral of the losses over its spectrum, in partial fractions.
    """
    angle = np.arctan(2 * math.pi * highest * relaxation.time)
    both = relaxation.time[:, None] + relaxation.time
    energy = (
        np.outer(relaxation.amplitude, relaxation.amplitude) * (angle[:, None] + angle) / (math.pi * both)
    )
    return np.asarray(np.einsum("bkl,kl->b", relaxation.damping, energy))


def joined(parts: Sequence[Relaxation]) -> Relaxation:
    """Several bodies that do not feel one another."""
    count = np.cumsum([0, *(len(part.time) for part in parts)])
    body = np.cumsum([0, *(len(part.damping) for part in parts)])
    damping = np.zeros((body[-1], count[-1], count[-1]))
    for k, part in enumerate(parts):
        mine = slice(count[k], count[k + 1])
        damping[body[k] : body[k + 1], mine, mine] = part.damping
    return Relaxation(
        static=sum(part.static for part in parts),
        amplitude=np.concatenate([part.amplitude for part in parts]),
        time=np.concatenate([part.time for part in parts]),
        damping=damping,
    )


def scaled(relaxation: Relaxation, factor: float) -> Relaxation:
    """As of a body whose effect is `factor` times as large at every frequency; factor >= 0."""
    return replace(
        relaxation, static=factor * relaxation.static, amplitude=np.sqrt(factor) * relaxation.amplitude
    )


def conducting(relaxation: Relaxation, factor: float) -> Relaxation:
    """As of metal that conducts `factor` times as well: all of it happens so much slower."""
    return replace(relaxation, time=factor * relaxation.time, damping=factor * relaxation.damping)


def limited(relaxation: Relaxation, least: float) -> Relaxation:
    """With decays weakened alike where they would take the added inductance under `least`, H."""
    taken, most = float(relaxation.strength.sum()), relaxation.static - least
    if taken <= most:
        return relaxation
    return replace(relaxation, amplitude=np.sqrt(most / taken) * relaxation.amplitude)


def of_single_body(static: float, strength: Floats, time: Floats, signs: Floats | float = 1.0) -> Relaxation:
    """Decays (k,) H and s of one body; signs: of their amplitudes."""
    return Relaxation(
        static=static, amplitude=signs * np.sqrt(strength), time=time, damping=np.diag(time)[None]
    )
