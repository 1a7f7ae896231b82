"""Small arrays with movers, quick to compute: a fan's stator of three wedges, a stage of three coils."""

from copy import deepcopy

from coilgen.design.reading import read_tables
from coilgen.job import case_of, draw

FAN = {
    "name": "fan",
    "winding": {
        "shape": "wedge",
        "layers": 2,
        "turns": 4,
        "trace_width": 0.3,
        "trace_spacing": 0.2,
        "inner_radius": 8,
        "outer_radius": 18,
    },
    "array": {"arrangement": "ring", "count": 6, "phases": 3, "coils": "series", "connection": "star"},
    "mover": {
        "arrangement": "ring",
        "poles": 4,
        "radius": 13,
        "gap": 1.5,
        "magnet": {"form": "disc", "diameter": 9, "thickness": 3, "grade": "N42"},
    },
    "drive": {"voltage": 6},
}
STAGE = {
    "name": "stage",
    "winding": {
        "shape": "square",
        "layers": 2,
        "turns": 4,
        "trace_width": 0.3,
        "trace_spacing": 0.2,
        "outer_size": 12,
    },
    "array": {"arrangement": "row", "count": 3, "pitch": 16, "phases": 3},
    "mover": {
        "arrangement": "row",
        "poles": 4,
        "pitch": 12,
        "gap": 1.5,
        "magnet": {"form": "block", "width": 10, "depth": 12, "thickness": 3, "remanence": "1.2 T"},
    },
    "drive": {"current": 0.5},
}


def changed(tables, changes):
    """Tables with other values by dotted keys; None takes a key out."""
    found = deepcopy(tables)
    for path, value in changes.items():
        *folders, key = path.split(".")
        table = found
        for folder in folders:
            table = table.setdefault(folder, {})
        if value is None:
            table.pop(key, None)
        else:
            table[key] = value
    return found


def case_with(tables, **changes):
    """The case of a design with other values, keys with __ in place of dots."""
    design = read_tables(changed(tables, {key.replace("__", "."): value for key, value in changes.items()}))
    return case_of(design, *draw(design))
