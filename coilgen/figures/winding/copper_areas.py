"""Area of copper on each layer."""

from coilgen.artwork.copper_area import copper_areas
from coilgen.result.figure import Answer, Case, Quantity


def _areas(case: Case) -> Answer:
    areas = copper_areas(case.art)
    return Answer(
        value=[{"layer": layer, "area": area} for layer, area in enumerate(areas, 1)],
        model="traces and pads as one, holes not taken out, as in the Gerber and DXF files",
    )


FIGURES = (
    Quantity(
        name="copper_areas",
        unit="table(layer 1, area m2)",
        says="area of copper on each layer: what a layout program must show after an import",
        group="winding",
        compute=_areas,
        of="board",
    ),
)
