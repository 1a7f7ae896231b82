"""No more copper layers than the shop builds, and no copper on layers the stack-up does not have."""

from collections.abc import Iterable

from coilgen.artwork.art import Art
from coilgen.design.design import Design
from coilgen.layout.coil import Coil
from coilgen.result.rule import Finding, Rule


def check(design: Design, coil: Coil, art: Art) -> Iterable[Finding]:
    """The stack-up against the shop, then the copper against the stack-up."""
    limit, built = design.rules.limit("layer_count"), design.board.stackup.layers
    if built > limit:
        yield _finding(
            built, limit, f"the shop builds {limit:g}: choose another shop or a stack-up with fewer"
        )
    highest = max([trace.layer for trace in art.traces] + [pad.layer for pad in art.pads], default=0)
    if max(highest, art.copper_layers) > built:
        count = max(highest, art.copper_layers)
        yield _finding(count, built, f"stack-up {design.board.stackup.name} has {built}: choose a larger one")


def _finding(count: int, limit: float, remedy: str) -> Finding:
    return Finding(
        rule="layer_count",
        value=float(count),
        limit=float(limit),
        unit="1",
        layer=None,
        at=None,
        says=f"The board needs {count} copper layers; {remedy}.",
    )


RULE = Rule(name="layer_count", says="most copper layers", unit="1", check=check)
