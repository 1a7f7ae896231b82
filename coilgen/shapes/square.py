"""Square spirals."""

from coilgen.polygonal import polygonal

SHAPE = polygonal("square", 4)
