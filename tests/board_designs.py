"""Boards of several windings for tests, as tables of a design file."""

from coilgen.design.design import Design
from coilgen.design.reading import read_tables


def winding(name: str, **keys: object) -> dict[str, object]:
    """A small round winding of two layers, with other keys."""
    usual = {"shape": "round", "layers": 2, "turns": 4, "trace_width": 0.2, "trace_spacing": 0.2}
    kept = {key: value for key, value in usual.items() if not (key == "layers" and "copper_layers" in keys)}
    return {"name": name, **kept, "outer_size": 12, **keys}


def board(*windings: dict[str, object], **tables: object) -> Design:
    """A board of windings, driven by a tenth of an ampere each unless told otherwise."""
    return read_tables({"name": "several", "winding": list(windings), "drive": {"current": 0.1}, **tables})


def ring(name: str, radius: float, **keys: object) -> dict[str, object]:
    """One turn of thin trace, mm, of a mean radius."""
    width = 0.1
    return winding(
        name, turns=1, trace_width=width, trace_spacing=0.15, outer_size=2 * radius + width, **keys
    )
