"""What the order to the fab asks for besides the board's drawing; what is left open is named as open."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Annotated, Literal

from pydantic import Field

from coilgen.design.keys import Fraction, Length, Table, Temperature, Whole, Word

Finish = Literal["enig", "lead-free-hasl", "immersion-silver", "immersion-tin", "osp", "hard-gold"]
Colour = Literal["green", "black", "blue", "red", "white", "yellow"]
Delivery = Literal["single", "panel"]
Vias = Literal["tented", "open", "filled"]

FINISHES: Mapping[str, str] = MappingProxyType(
    {
        "enig": "electroless nickel, immersion gold (ENIG)",
        "lead-free-hasl": "hot-air levelled solder, lead-free (HASL)",
        "immersion-silver": "immersion silver",
        "immersion-tin": "immersion tin",
        "osp": "organic solderability preservative (OSP)",
        "hard-gold": "hard gold over nickel",
    }
)
"""Each finish in the words of an order."""


class Order(Table):
    """The order form: every key may be left out, and the fabrication notes then say who decides."""

    finish: Annotated[Finish, Word()] | None = Field(
        default=None, description="of the pads' copper; left out, the buyer still has to choose"
    )
    soldermask_colour: Annotated[Colour, Word()] | None = Field(
        default=None, description="of solder mask or coverlay; left out, the fab's usual one"
    )
    legend_colour: Annotated[Colour, Word()] | None = Field(
        default=None, description="left out, the fab's usual one on that solder mask"
    )
    ipc_class: Annotated[int, Whole(least=2, most=3)] = Field(
        default=2, description="performance class of IPC-6012 (flexible boards: IPC-6013); default 2"
    )
    thickness_tolerance: Fraction | None = Field(
        default=None, description="of the board's thickness, to either side; left out, the fab's standard"
    )
    copper_tolerance: Fraction | None = Field(
        default=None,
        description="by which finished copper may be thinner than designed; left out, still to choose",
    )
    tg: Temperature | None = Field(
        default=None,
        description="least glass transition temperature of the laminate; left out, what the design's "
        "own temperature asks for",
    )
    hole_tolerance: Length | None = Field(
        default=None, description="of plated holes' finished diameter, to either side; default the fab's"
    )
    pocket_tolerance: Length | None = Field(
        default=None, description="of the pocket's size, to either side; left out, the fab's standard"
    )
    delivery: Annotated[Delivery, Word()] = Field(
        default="single", description="single boards or the fab's panel; default single"
    )
    quantity: Annotated[int, Whole(least=1, most=1_000_000)] | None = Field(
        default=None, description="number of boards"
    )
    vias: Annotated[Vias, Word()] = Field(
        default="tented",
        description="tented: covered by mask; open: bare on both faces; filled: with resin, then covered; "
        "default tented",
    )
