"""Parametric PCB coils: one design file in; board art, figures, pictures and warnings out.

>>> import coilgen
>>> design = coilgen.read_text('''name = "latch"
... [winding]
... shape = "square"
... turns = 10
... trace_width = "0.2 mm"
... trace_spacing = "0.2 mm"
... outer_size = "20 mm"
... ''')
>>> result = coilgen.make(design)
>>> sorted(result.files)[-1], len(result.findings)
('latch.svg', 0)
"""

from typing import TYPE_CHECKING, Any

__all__ = [
    "Design",
    "DesignError",
    "Figures",
    "Result",
    "__version__",
    "bench",
    "compare",
    "make",
    "optimize",
    "panel",
    "read",
    "read_text",
    "sweep",
]

if TYPE_CHECKING:
    __version__: str
    from coilgen.design.design import Design
    from coilgen.design.reading import read, read_text
    from coilgen.errors import DesignError
    from coilgen.job import make
    from coilgen.result.figures import Figures
    from coilgen.result.result import Result
    from coilgen.study.bench.bench import bench
    from coilgen.study.compare import compare
    from coilgen.study.optimize import optimize
    from coilgen.study.panel.files import panel
    from coilgen.study.sweep import sweep

_HOMES = {
    "Design": "coilgen.design.design",
    "DesignError": "coilgen.errors",
    "Figures": "coilgen.result.figures",
    "Result": "coilgen.result.result",
    "bench": "coilgen.study.bench.bench",
    "compare": "coilgen.study.compare",
    "make": "coilgen.job",
    "optimize": "coilgen.study.optimize",
    "panel": "coilgen.study.panel.files",
    "read": "coilgen.design.reading",
    "read_text": "coilgen.design.reading",
    "sweep": "coilgen.study.sweep",
}


def __getattr__(name: str) -> Any:
    """Imports a public name when it is first used, so that the command line starts at once.

    The version is that of `pyproject.toml`, as installed.
    """
    if name == "__version__":
        from importlib.metadata import version

        globals()[name] = version("coilgen")  # looked up on the disk once
        return globals()[name]
    if name not in _HOMES:
        raise AttributeError(f"module 'coilgen' has no attribute {name!r}")
    from importlib import import_module

    return getattr(import_module(_HOMES[name]), name)


def __dir__() -> list[str]:
    """What there is to use, without importing it."""
    return sorted([*__all__, "__doc__", "__file__", "__name__"])
