"""The README's pictures and its worked example, made from the main template.

`python tests/readme_pictures.py` writes the pictures anew and prints the example's rows.
"""

from pathlib import Path

from designs import SHAPES, Asked
from designs import text as text_of

from coilgen.catalogue import rows, templates
from coilgen.design.design import Design
from coilgen.design.reading import read_tables, read_text, tables
from coilgen.exports.page._chart import Chart, Curve, chart_svg
from coilgen.exports.page._scale import Axis
from coilgen.exports.picture import drawing
from coilgen.exports.picture._svg import Element, add, number, path_data, written, xy
from coilgen.geometry.extent import extent
from coilgen.job import case_of, check, draw
from coilgen.layout.seen import copper_edges, measured
from coilgen.layout.shape import shape_named
from coilgen.result.figure import Case

FOLDER = Path(__file__).parent.parent / "templates" / "pictures"
NAME, STATOR = "optical-shutter", "fan-stator"
SEARCHED = "membrane-push"
OPTIMUM = {
    "winding.turns": 20,
    "winding.trace_width": 0.2556,
    "winding.trace_spacing": 0.15,
    "winding.outer_size": 20,
}
"""What the search of that template finds; a slow test holds its force against the search."""
VOLTAGES = (0.8, 1.2, 1.6)
SHOWN = 12.0
"""Seconds of the plot."""

STYLE = """
svg { background: #ffffff; font: 13px "DejaVu Sans", Verdana, Arial, sans-serif; }
text { fill: #22262c; } .grid text { fill: #5a606a; } .grid .title { fill: #22262c; }
.line { stroke: #d9d6cd; } .zero { stroke: #5a606a; }
.curve path { stroke-width: 2.2; stroke-linejoin: round; }
.curve-1 path { stroke: #1b3f8f; } .curve-2 path { stroke: #b5532a; stroke-dasharray: 8 4; }
.curve-3 path { stroke: #7a2f80; stroke-dasharray: 2 4; }
.level path { stroke: #9c2c16; stroke-width: 1.4; stroke-dasharray: 4 3; }
"""


def pictures() -> dict[str, bytes]:
    """Every picture by its file's name."""
    given = templates()[NAME]
    return {
        f"{NAME}.svg": drawing.files(check(read_text(given)))[f"{NAME}.svg"],
        f"{NAME}-temperature.svg": written(by_itself(chart_svg(warming(given)))),
        f"{SEARCHED}-optimum.svg": optimum_picture(),
        f"{STATOR}.svg": drawing.files(check(read_text(templates()[STATOR])))[f"{STATOR}.svg"],
        **{f"shape-{shape}.svg": shape_picture(shape) for shape in SHAPES},
    }


def optimum() -> Design:
    """The design that the search finds."""
    return read_text(templates()[SEARCHED]).changed({**OPTIMUM, "name": f"{SEARCHED}-optimum"})


def optimum_picture() -> bytes:
    """Its board."""
    (drawn,) = drawing.files(check(optimum())).values()
    return drawn


def shape_picture(shape: str) -> bytes:
    """The top layer of a small winding of a shape, and the lines along which its sizes are told."""
    design = read_text(text_of(Asked(shape=shape, layers=1, turns=5, width=0.6, spacing=0.4, inner=10.0)))
    coil, _ = draw(design)
    edge, told = copper_edges(design)[0], measured(design)
    low, high = extent(edge)
    room = 1.2e-3
    root = Element("svg", {"xmlns": "http://www.w3.org/2000/svg"})
    size = high - low + room * 2 * (1 + 1j)
    scale = 96 / max(size.real, size.imag)
    root.set("width", f"{size.real * scale:.0f}")
    root.set("height", f"{size.imag * scale:.0f}")
    corner = [number(length) for length in (low.real - room, -high.imag - room, size.real, size.imag)]
    root.set("viewBox", " ".join(corner))
    (trace, *_) = coil.traces
    add(
        root, "path", d=path_data(trace.path), fill="none", stroke="#b5532a", stroke_width=number(trace.width)
    )
    for start, end, _ in told:
        across = (end - start) / abs(end - start) * 0.6e-3j
        marks = [f"M{xy(at - across)} L{xy(at + across)}" for at in (start, end)]
        line = " ".join([f"M{xy(start)} L{xy(end)}", *marks])
        add(root, "path", d=line, fill="none", stroke="#1b3f8f", stroke_width="0.25")
    return written(root)


def shape_row(shape: str) -> str:
    """A row of the README's table of shapes."""
    made = shape_named(shape)
    size = made.measure.says
    keys = "`outer_size`" if made.measure.count == 1 else "`outer_size = [x, y]`"
    if made.measure.sector:
        keys = "`inner_radius`, `outer_radius`, `angle`, over the copper; `outer_size`"
    return f"| `{shape}` | ![{made.says}](templates/pictures/shape-{shape}.svg) | {keys}: {size} |"


def by_itself(chart: Element) -> Element:
    """A plot of the page with the styles that it takes from the page's sheet."""
    for name, value in (("xmlns", "http://www.w3.org/2000/svg"), ("width", "780"), ("height", "480")):
        chart.set(name, value)
    style = Element("style")
    style.text = STYLE
    chart.insert(0, style)
    return chart


def warming(text: str) -> Chart:
    """Hottest copper against time at several voltages, and the limit of the board's adhesive."""
    limit = float(str(rows("temperature_limits")["flex-adhesive"]["temperature"]))
    return Chart(
        title="Temperature after switching on",
        says="Hottest copper against time at three voltages, and the limit of the board's adhesive.",
        across=Axis(says="time", unit="s"),
        up=Axis(says="temperature", unit="degC"),
        curves=tuple(Curve(says=f"{volts:g} V", points=warmed(text, volts)) for volts in VOLTAGES),
        level=Curve(says=f"limit {limit:g} °C", points=((0.0, limit), (SHOWN, limit))),
    )


def driven(text: str, voltage: float) -> Case:
    """A design file's coil at another voltage."""
    given = tables(text)
    drive = given["drive"]
    assert isinstance(drive, dict)
    design = read_tables({**given, "drive": {**drive, "voltage": voltage}})
    return case_of(design, *draw(design))


def example() -> list[str]:
    """Rows of the README's table, one for each voltage."""
    return [row(driven(templates()[NAME], volts)) for volts in VOLTAGES]


def row(case: Case) -> str:
    """Voltage, current, temperature, time to the design's own limit, force on the magnet."""
    cold, settled = case.value("current"), case.value("hot_current")
    force = [1e3 * current * abs(case.value("force_constant")) for current in (cold, settled)]
    limits = case.value("temperature_limits")
    (own,) = (each for each in limits if each["limit"] == "mounting.limit_temperature")
    passes = "never" if own["time_to_reach"] is None else f"{own['time_to_reach']:.1f} s"
    return (
        f"| {case.design.drive.voltage:g} V | {1e3 * cold:.0f}, {1e3 * settled:.0f} mA "
        f"| {case.value('temperature'):.0f} °C | {passes} | {force[0]:.0f}, {force[1]:.0f} mN |"
    )


def warmed(text: str, voltage: float) -> tuple[tuple[float, float], ...]:
    """Time and temperature of a design file's coil at another voltage."""
    table = driven(text, voltage).value("temperature_against_time")
    return tuple((each["time"], each["temperature"]) for each in table if each["time"] <= SHOWN)


if __name__ == "__main__":
    for name, content in pictures().items():
        (FOLDER / name).write_bytes(content)
    print(*example(), *map(shape_row, SHAPES), sep="\n")
