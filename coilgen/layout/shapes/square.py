"""Square spirals."""

from coilgen.layout.polygonal import polygonal

SHAPE = polygonal("square", 4)
