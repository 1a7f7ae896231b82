"""Wedges: sectors of a ring, as coils of a stator stand side by side in one."""

from coilgen.design.measure import Measure
from coilgen.layout.sector import sector
from coilgen.layout.shape import Shape

SHAPE = Shape(
    name="wedge",
    says="spiral round the sector of a ring",
    measure=Measure(says="from the inner to the outer arc", sector=True),
    outline=sector,
)
