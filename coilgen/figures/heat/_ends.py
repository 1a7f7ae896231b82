"""Ends of the bands of heat: of joints, and of convection."""

from collections.abc import Mapping
from typing import Literal

End = Literal["cool", "typical", "hot"]
"""Which end of a band: of the joints, or of convection."""
JOINT_ENDS: Mapping[End, int] = {"cool": 0, "hot": 1}
AIR_ENDS: Mapping[End, int] = {"cool": 1, "hot": 0}
