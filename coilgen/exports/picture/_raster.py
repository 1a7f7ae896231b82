"""The board's picture as PNG, drawn by the resvg library: no system library or browser is needed for it."""

from dataclasses import replace

from coilgen.errors import UserError
from coilgen.result.result import Result

DOTS_PER_INCH = 600


class RasterError(UserError):
    """The library that draws PNG is not installed."""


def with_png(result: Result) -> Result:
    """The result with its SVG picture as PNG besides, at 600 dots per inch."""
    name = result.design.name
    return replace(result, files={**result.files, f"{name}.png": png(result.files[f"{name}.svg"])})


def png(svg: bytes) -> bytes:
    """An SVG in millimetres, as pixels. RasterError where resvg_py is missing."""
    try:
        from resvg_py import svg_to_bytes
    except ImportError:
        raise RasterError("--png needs one more library: pip install 'coilgen[png]'") from None
    drawn: bytes = svg_to_bytes(svg_string=svg.decode(), dpi=DOTS_PER_INCH)
    return drawn
