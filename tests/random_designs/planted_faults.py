"""Plants faults in a sound board and shows which laws see each of them.

`python tests/random_designs/planted_faults.py`: exit 1 when a fault is seen by no law, or the sound board
breaks one.
"""

import sys
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import changed_laws
import physical_laws
from drawn_designs import broken_laws
from made import Made, made, remade

from coilgen.artwork.art import Art, Stroke
from coilgen.geometry.closed import rectangle
from coilgen.geometry.isometry import Isometry
from coilgen.geometry.path import Path
from coilgen.layout.coil import Trace
from coilgen.result.figure import Figure
from coilgen.result.result import Result

SOUND = {
    "name": "sound",
    "winding": {
        "shape": "square",
        "layers": 4,
        "turns": 5,
        "trace_width": 0.3,
        "trace_spacing": 0.2,
        "inner_size": 14,
    },
    "board": {"outline": "square", "size": 29, "corner_radius": 2},
    "pocket": {"size": 5},
}
MIRROR = Isometry(mirrored=True)
MORE = (*changed_laws.LAWS, *physical_laws.LAWS)
FIVE = 5e-6
"""A fault's size that a fab could still etch, m."""


def of_art(change: Callable[[Art], Art]) -> Callable[[Made], Made]:
    """A fault of the art, from which the files are written anew."""
    return lambda sound: remade(replace(sound.result, art=change(sound.result.art)))


def of_figures(**values: float) -> Callable[[Made], Made]:
    """Figures that tell another value."""

    def told(figure: Figure) -> Figure:
        return replace(figure, value=values.get(figure.name, figure.value))

    def change(result: Result) -> Result:
        return replace(result, figures={name: told(figure) for name, figure in result.figures.items()})

    return lambda sound: replace(sound, result=change(sound.result))


def of_file(function: str, old: bytes, new: bytes) -> Callable[[Made], Made]:
    """A fault in the file of a function."""

    def change(sound: Made) -> Made:
        files = {
            path: content.replace(old, new, 1) if function.encode() in content else content
            for path, content in sound.files.items()
        }
        return Made(result=sound.result, files=files, whole=sound.whole)

    return change


def trace_of(art: Art, layer: int, change: Callable[[Trace], Trace]) -> Art:
    return replace(
        art, traces=tuple(change(trace) if trace.layer == layer else trace for trace in art.traces)
    )


def mirrored(trace: Trace) -> Trace:
    return replace(trace, path=trace.path.moved(MIRROR))


def wider(trace: Trace) -> Trace:
    return replace(trace, width=trace.width + FIVE)


def shifted(art: Art) -> Art:
    first, *rest = art.holes
    return replace(art, holes=(replace(first, at=first.at + 4 * FIVE), *rest))


def other_way(sound: Made) -> Made:
    """The same copper where the other sense is asked."""
    design = sound.design.changed(**{"winding.direction": "clockwise"})
    return replace(sound, result=replace(sound.result, design=design))


def _times(factor: float, value: Any) -> Any:
    return [_times(factor, each) for each in value] if isinstance(value, list) else factor * value


def told_wrong(name: str, factor: float) -> Callable[[Made], Made]:
    """A figure that is not among the quick ones, told by a factor wrong."""

    def change(sound: Made) -> Made:
        found = changed_laws.figures(sound.design, [name])[name]
        figures = {**sound.result.figures, name: replace(found, value=_times(factor, found.value))}
        return replace(sound, result=replace(sound.result, figures=figures))

    return change


FAULTS: dict[str, Callable[[Made], Made]] = {
    "a via is missing": of_art(lambda art: replace(art, holes=art.holes[1:])),
    "a layer is mirrored": of_art(lambda art: trace_of(art, 2, mirrored)),
    "the current runs the wrong way": other_way,
    "a trace is 5 um wider": of_art(lambda art: trace_of(art, 3, wider)),
    "a mask opening is missing": of_art(lambda art: replace(art, openings=art.openings[1:])),
    "an opening bares a via": of_art(
        lambda art: replace(art, openings=(*art.openings, replace(art.openings[0], at=art.holes[0].at)))
    ),
    "a hole is 20 um off its pad": of_art(shifted),
    "a pad is missing on an inner layer": of_art(
        lambda art: replace(art, pads=tuple(pad for pad in art.pads if (pad.layer, pad.terminal) != (2, 1)))
    ),
    "the profile is open": of_art(lambda art: replace(art, outline=Path(art.outline.segments[:-1]))),
    "the legend lies over the edge": of_art(
        lambda art: replace(art, legend=(*art.legend, Stroke(path=rectangle(0.029, 0.029), width=1e-4)))
    ),
    "a terminal has lost its net": of_file("Copper,L1,", b"%TO.N,COIL*%", b"%TO.N,COIL2*%"),
    "two turns touch": of_art(
        lambda art: trace_of(art, 1, lambda trace: replace(trace, width=trace.width + 0.21e-3))
    ),
    "the board is smaller than asked": of_art(
        lambda art: replace(art, outline=rectangle(0.0289, 0.0289, 0.002))
    ),
    "the pocket is missing": of_art(lambda art: replace(art, pockets=())),
    "the spacing is told 5 um wider": of_figures(smallest_spacing=0.205e-3),
    "the resistance is told in the wrong copper": of_figures(resistance_20c=0.1),
    "the inductance does not grow with the board": told_wrong("inductance", 0.999),
    "the capacitance does not grow with the board": told_wrong("winding_capacitance", 1.001),
    "the time constant is another inductance's": told_wrong("time_constant", 1.001),
    "the layers couple less than their inductances tell": told_wrong("layer_coupling", 0.999),
    "copper is told a tenth more resistant": told_wrong("resistance_20c", 1.1),
    "warmth falls with more current": told_wrong("temperature", 1.2),
}


def main() -> int:
    sound = made(SOUND, whole=False)
    missed = [f"the sound design breaks {law}: {says}" for law, says in broken_laws(sound, MORE)]
    for name, plant in FAULTS.items():
        seen = sorted({law for law, _ in broken_laws(plant(sound), MORE)})
        print(f"{name}: {', '.join(seen) or 'not seen'}")
        missed += [] if seen else [name]
    print("\n".join(missed))
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
