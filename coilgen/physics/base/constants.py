"""Constants of nature and by definition that several solvers use, SI units."""

import math

MU0 = 4e-7 * math.pi
"""H/m, magnetic constant within 6e-10 of the value of CODATA 2018."""
MU0_OVER_4PI = 1e-7
"""H/m, the same over 4 pi."""
GRAVITY = 9.80665
"""m/s2, standard acceleration of free fall: resolution 2 of the 3rd General Conference on Weights and
Lengths, 1901."""
STEFAN_BOLTZMANN = 5.670374419e-8
"""W/(m² K⁴), exact in the SI of 2019 to the digits given."""
