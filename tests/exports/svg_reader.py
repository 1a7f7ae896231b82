"""An SVG file read back."""

import io
from collections.abc import Mapping
from xml.etree import ElementTree

SVG = "{http://www.w3.org/2000/svg}"
Element = ElementTree.Element


def read_back(files: Mapping[str, bytes]) -> Element:
    """The root of the single SVG file of an export."""
    (content,) = files.values()
    return ElementTree.parse(io.BytesIO(content)).getroot()
