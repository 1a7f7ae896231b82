"""Bodies seen from the top: which measures a form has, and what is said of those it lacks or cannot use."""

from collections.abc import Mapping

from coilgen.design.keys import SI
from coilgen.errors import Fault


def square_depth(given: object, width: float | None, *, rectangular: bool) -> object:
    """A depth as written; that of a rectangular form told by its width alone is the width."""
    return SI(width) if given is None and width is not None and rectangular else given


def measure_faults(
    table: str, form: str, measures: Mapping[str, float | None], wanted: tuple[str, ...], advice: str
) -> list[Fault]:
    """Lengths that a form lacks, and those of another form.

    form: as written, key and word. advice: what to do about a measure of another form.
    """
    faults = []
    for key, value in measures.items():
        told_by_width = key == "depth" and measures["width"] is None
        if key in wanted and value is None and not told_by_width:
            faults.append(Fault(key=f"{table}.{key}", says=f"not given; {form} needs it"))
        if key not in wanted and value is not None:
            faults.append(Fault(key=f"{table}.{key}", says=f"has no use with {form}; {advice}"))
    return faults
