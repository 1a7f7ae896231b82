"""A design file that every shop makes, quick to compute."""

SMALL = """name = "small"
[winding]
shape = "round"
layers = 2
turns = 3
trace_width = "0.3 mm"
trace_spacing = "0.3 mm"
outer_size = "16 mm"
"""
