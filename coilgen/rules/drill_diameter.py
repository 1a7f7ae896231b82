"""No drill smaller than the shop has."""

from collections.abc import Iterable

from coilgen.artwork.art import Art
from coilgen.design.design import Design
from coilgen.layout.coil import Coil
from coilgen.result.rule import Finding, Rule
from coilgen.rules._places import Place, places, short_lengths
from coilgen.units import in_mm, measured_mm


def check(design: Design, coil: Coil, art: Art) -> Iterable[Finding]:
    """The small holes."""
    limit = design.rules.limit("drill_diameter")
    keys = sorted({hole.diameter_key for hole in art.holes})
    found = places(
        Place(value=hole.diameter, at=hole.at, kind=keys.index(hole.diameter_key)) for hole in art.holes
    )
    return short_lengths("drill_diameter", limit, found, lambda place: _says(place, limit, keys[place.kind]))


def _says(place: Place, limit: float, key: str) -> str:
    pad = "" if key == "hole.diameter" else " and its pad"
    told = f"The drill is {measured_mm(place.value, limit)}, under {in_mm(limit)}"
    return f"{told}: enlarge {key}{pad}, or choose a finer shop."


RULE = Rule(name="drill_diameter", says="least diameter of a drill", unit="m", check=check)
