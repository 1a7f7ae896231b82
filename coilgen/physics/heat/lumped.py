"""A coil of one temperature that loses heat in proportion to its rise: closed forms."""

import math


def rise_at_constant_voltage(
    voltage: float, resistance: float, conductance: float, coefficient: float
) -> float:
    """Steady rise over the air, K: the root of rise (1 + alpha rise) = V²/(R0 G); there always is one.

    voltage V; resistance R0 ohm and its temperature coefficient alpha 1/K, both at the air's temperature;
    conductance G to the air W/K.

    >>> round(rise_at_constant_voltage(10.0, 5.0, 0.1, 0.004), 2)
    131.17
    """
    cold = voltage**2 / (resistance * conductance)
    return 2 * cold / (1 + math.sqrt(1 + 4 * coefficient * cold))


def rise_at_constant_current(
    current: float, resistance: float, conductance: float, coefficient: float
) -> float:
    """Steady rise over the air, K: I² R0/(G - alpha I² R0); infinite from the runaway's current on.

    Arguments as in rise_at_constant_voltage, current in A.

    >>> rise_at_constant_current(1.0, 5.0, 0.1, 0.004), rise_at_constant_current(3.0, 5.0, 0.1, 0.004)
    (62.5, inf)
    """
    cold = current**2 * resistance
    left = conductance - coefficient * cold
    return cold / left if left > 0 else math.inf
