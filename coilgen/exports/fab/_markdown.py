"""The little Markdown that the fabrication notes need: tables and numbers as a fab reads them."""

from collections.abc import Iterable, Iterator, Sequence


def table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> Iterator[str]:
    """Lines of a table, its columns as wide as their widest cell, so that it reads as plain text too."""
    cells = [tuple(head), *(tuple(cell.replace("|", "/") for cell in row) for row in rows)]
    widths = [max(len(row[column]) for row in cells) for column in range(len(head))]
    yield _row(cells[0], widths)
    yield "|" + "|".join("-" * (width + 2) for width in widths) + "|"
    for row in cells[1:]:
        yield _row(row, widths)


def _row(cells: Sequence[str], widths: Sequence[int]) -> str:
    return "| " + " | ".join(f"{cell:<{width}}" for cell, width in zip(cells, widths, strict=True)) + " |"


def mm(metres: float) -> str:
    """A length in mm, to the micrometre, without zeros that say nothing.

    >>> mm(0.0061), mm(0.024), mm(0.0012345)
    ('6.1 mm', '24.0 mm', '1.234 mm')
    """
    text = f"{metres * 1e3:.3f}"
    return f"{text[:-2]}{text[-2:].rstrip('0')} mm"


def um(metres: float) -> str:
    """A thickness in micrometres.

    >>> um(35e-6), um(1.53e-3), um(17.5e-6)
    ('35 um', '1530 um', '17.5 um')
    """
    return f"{metres * 1e6:.4g} um"
