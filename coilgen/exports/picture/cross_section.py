"""SVG of a cut through the board along its middle: copper, dielectric, mask, pocket; heights exaggerated."""

from coilgen.exports.picture._section_view import section_svg
from coilgen.exports.picture._svg import fit_screen, written
from coilgen.result.export import Export
from coilgen.result.result import Result


def files(result: Result) -> dict[str, bytes]:
    """One file: the cut from west to east through the coil's centre, seen from the south."""
    root = section_svg(result)
    fit_screen(root)
    root.set("xmlns", "http://www.w3.org/2000/svg")
    return {f"{result.design.name}-cross-section.svg": written(root)}


EXPORT = Export(
    name="cross_section",
    says="SVG: a cut through the board with its layers, heights exaggerated",
    reader="eye",
    paths=("<name>-cross-section.svg",),
    files=files,
    drawn=True,
)
