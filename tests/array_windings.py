"""The small winding of arrays that tests join and measure."""

WINDING = {
    "shape": "square",
    "layers": 2,
    "turns": 3,
    "trace_width": 0.2,
    "trace_spacing": 0.2,
    "outer_size": 8,
}
