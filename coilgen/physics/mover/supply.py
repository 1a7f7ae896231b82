"""Speed against torque of a mover's drive at a supply of constant voltage."""

import numpy as np

from coilgen.frozen import dataclass
from coilgen.physics.base.bracketed_root import root_between
from coilgen.physics.base.conductor import Floats


@dataclass(frozen=True, kw_only=True)
class Supplied:
    """Phases at a supply as one circuit; speeds in rad/s and N m of a ring, m/s and N of a row.

    voltage: V that it gives to resistance, ohm, reactance over the speed, ohm s, and to the voltage constant,
    V s. torque_constant: mean torque of one ampere. drag: torque over the speed that eddy currents take.
    limit: A. share: of resistance times the current's square that is heat (2 phases of amplitudes: 1).
    """

    voltage: float
    resistance: float
    reactance: float
    constant: float
    torque_constant: float
    heat_share: float
    drag: float = 0.0
    limit: float = np.inf

    def current(self, speed: float) -> float:
        """A, in phase with the voltage that the mover induces; 0 from the speed on at which that is all.

        (R i + k w)^2 + (x w i)^2 = V^2.
        """
        induced = self.constant * speed
        square = self.resistance**2 + (self.reactance * speed) ** 2
        half, left = self.resistance * induced, self.voltage**2 - induced**2
        if left <= 0.0:
            return 0.0
        return float(min((-half + np.sqrt(half**2 + square * left)) / square, self.limit))

    def torque(self, speed: float) -> float:
        """At the shaft or the slider, without friction."""
        return self.torque_constant * self.current(speed) - self.drag * speed

    def efficiency(self, speed: float) -> float:
        """Of what the supply gives, the share that arrives; 0 at rest and without load."""
        current = self.current(speed)
        taken = self.heat_share * self.resistance * current**2 + self.torque_constant * current * speed
        return max(0.0, self.torque(speed) * speed / taken) if taken > 0.0 else 0.0

    @property
    def no_load_speed(self) -> float:
        """Where eddy currents take all torque, without friction."""
        most = self.voltage / self.constant
        return root_between(self.torque, 0.0, most) if self.torque(most) < 0.0 else most

    @property
    def best_speed(self) -> float:
        """Where the efficiency is greatest."""
        speeds = np.linspace(0.0, self.no_load_speed, 400)
        return float(speeds[np.argmax([self.efficiency(float(speed)) for speed in speeds])])

    def speeds(self, count: int) -> Floats:
        """From rest to no load, that of the best efficiency among them, after which it falls steeply."""
        best, most = self.best_speed, self.no_load_speed
        falling = best + np.array([0.0, 0.5, 0.75, 0.9]) * (most - best)
        return np.unique([*np.linspace(0.0, most, count), *falling])
