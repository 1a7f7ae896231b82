"""The boards of a panel: designs and variants that differ in copper, with labels and what each serves."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path as FilePath

from coilgen.artwork.art import NO_NET, Art
from coilgen.artwork.legend import legend
from coilgen.catalogue import unknown
from coilgen.design.design import Design
from coilgen.design.paneling import PanelFile, Sample, is_panel
from coilgen.design.reading import file_text, read_beside, tables
from coilgen.errors import DesignError, Fault, shown
from coilgen.exports.fab._identity import drawn
from coilgen.frozen import dataclass
from coilgen.geometry.extent import extent
from coilgen.geometry.point import Point
from coilgen.job import check
from coilgen.layout.coil import Coil
from coilgen.result.result import Result
from coilgen.study.compare import BASE

MOST_BOARDS = 100
"""On one panel: more are production, which a fab puts on panels of its own."""
LONGEST_NET = 14
"""Letters that the netlist has for a net's name."""
LETTERS = "ABCDEFGHIJKLMNOPQRSUVWXYZ"
"""Of labels, a letter for each sample; T is the coupons'."""
_FREE = {"quantity", "delivery"}
"""Keys of the order in which designs of one panel may differ."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Board:
    """One board of the panel before it has its place, drawn about its own origin.

    serves: variants whose copper it is, by name, the first of which it is drawn from. result: checked, with
    art that bears the label. art, coil: the same with nets named by the label.
    """

    label: str
    serves: tuple[tuple[str, Design], ...]
    result: Result
    coil: Coil
    art: Art
    labelled: bool

    @property
    def design(self) -> Design:
        """That it is drawn from."""
        return self.result.design

    @property
    def size(self) -> Point:
        """Width and height of its outline, m."""
        low, high = _extent(self.art)
        return high - low

    @property
    def middle(self) -> Point:
        """Of its outline, from the coil's centre, m."""
        low, high = _extent(self.art)
        return (low + high) / 2

    @property
    def nets(self) -> tuple[str, ...]:
        """Of its windings."""
        return tuple(dict.fromkeys(terminal.net for terminal in self.coil.terminals))


def _extent(art: Art) -> tuple[Point, Point]:
    if art.outline is None:
        raise ValueError("a board without an outline has no place on a panel")
    return extent(art.outline)


def read_panel(path: FilePath) -> tuple[PanelFile, tuple[Design, ...]]:
    """A panel file with the designs of its samples, or a design with its variants as a panel of one sample.

    DesignError with every fault of the panel file or of the designs that it names.
    """
    given = tables(file_text(path))
    if not is_panel(given):
        design = read_beside(file_text(path), path.parent)
        return panel_of(design, path.name), (design,)
    asked = PanelFile.from_tables(given)
    return asked, tuple(_designs(asked, path.parent))


def panel_of(design: Design, file: str) -> PanelFile:
    """The panel of a design in a file and its variants; its files stand in place of the board's own."""
    return PanelFile(name=design.name, note=design.note, sample=(Sample(design=file),))


def _designs(asked: PanelFile, folder: FilePath) -> Iterator[Design]:
    found: list[Fault] = []
    for number, sample in enumerate(asked.sample, start=1):
        try:
            file = folder / sample.design
            yield read_beside(file_text(file), file.parent)
        except DesignError as error:
            place = f"sample {number}, {sample.design}"
            found += [Fault(key=f"{place}: {fault.key}", says=fault.says) for fault in error.faults]
    if found:
        raise DesignError(found)


def boards(asked: PanelFile, designs: Sequence[Design]) -> tuple[Board, ...]:
    """Every board of a panel, in the order of the file: sample, variant, copy.

    DesignError for designs that cannot be made as one board, and with what of them has no room.
    """
    named = _named(asked, designs)
    _refuse_collisions(asked, designs, named)
    _refuse_differing(named)
    found: list[Board] = []
    kinds = [_distinct(variants) for variants in named]
    _refuse_many(sum(len(kind) * each.copies for kind, each in zip(kinds, asked.sample, strict=True)))
    for letter, sample, distinct in zip(LETTERS, asked.sample, kinds, strict=False):
        for served, result in distinct:
            for _ in range(sample.copies):
                number = 1 + sum(board.label.startswith(letter) for board in found)
                found.append(_board(f"{letter}{number}", served, result))
    return tuple(found)


def _refuse_many(count: int) -> None:
    if count > MOST_BOARDS:
        raise DesignError.at(
            "sample", f"{count} boards in all; a panel of samples holds {MOST_BOARDS} at most"
        )


Named = tuple[tuple[str, Design], ...]


def _named(asked: PanelFile, designs: Sequence[Design]) -> list[Named]:
    """The variants asked for of each sample."""
    named: list[Named] = []
    found: list[Fault] = []
    for number, (sample, design) in enumerate(zip(asked.sample, designs, strict=True), start=1):
        known = variants_of(design)
        wanted = tuple(known) if sample.variants is None else sample.variants
        found += [
            Fault(
                key=f"sample {number}.variants",
                says=f"{shown(name)} is no variant of {design.name}; {unknown(name, known)}",
            )
            for name in wanted
            if name not in known
        ]
        named.append(tuple((name, known[name]) for name in wanted if name in known))
    if found:
        raise DesignError(found)
    return named


def variants_of(design: Design) -> dict[str, Design]:
    """The boards of a design on a panel by name, itself first; DesignError for a variant of that name.

    What a bench taught is left out: a panel tells what is asked of the fab, as its boards and coupons are
    held against.
    """
    own = {variant.name: variant.design.unchecked(calibration=None) for variant in design.variant}
    if BASE in own:
        raise DesignError.at(
            "variant", f'"{BASE}" is the design itself on a panel; call the variant otherwise'
        )
    return {BASE: design.unchecked(variant=(), calibration=None), **own}


def _refuse_collisions(asked: PanelFile, designs: Sequence[Design], named: Sequence[Named]) -> None:
    """A design's name stands for one file, each variant in one sample; panels of several have their own."""
    found: list[Fault] = []
    first: dict[str, int] = {}
    for number, design in enumerate(designs, start=1):
        key = f"sample {number}.design"
        if design.name == asked.name and len(designs) > 1:
            says = (
                f'"{design.name}" is the panel\'s name too, and files are named so; call the panel otherwise'
            )
            found.append(Fault(key=key, says=says))
        earlier = first.setdefault(design.name, number)
        if earlier == number:
            continue
        if design != designs[earlier - 1]:
            says = f'its name "{design.name}" is that of another design, sample {earlier}; rename one of them'
            found.append(Fault(key=key, says=says))
        for name in {name for name, _ in named[number - 1]} & {name for name, _ in named[earlier - 1]}:
            says = f"{shown(name)} of {design.name} is in sample {earlier} too; use its copies"
            found.append(Fault(key=f"sample {number}.variants", says=says))
    if found:
        raise DesignError(found)


def _refuse_differing(named: Iterable[Named]) -> None:
    """All are one board to the fab: the same stack-up, the same order, an outline each."""
    every = [(design.name, name, design) for variants in named for name, design in variants]
    _, _, first = every[0]
    found: list[Fault] = []
    for title, name, design in every:
        of = f"{title}, {shown(name)}"
        differing = _differences(
            first.board.stackup.model_dump(), design.board.stackup.model_dump(), {"name"}
        )
        if differing:
            says = f"differs from the first board's in {differing}; boards of one panel share their stack-up"
            found.append(Fault(key=f"{of}: board.stackup", says=says))
        ordered = _differences(first.order.model_dump(), design.order.model_dump(), _FREE)
        if ordered:
            says = f"differs from the first board's in {ordered}; boards of one panel are one order"
            found.append(Fault(key=f"{of}: order", says=says))
        if design.board.outline == "none":
            says = '"none" leaves nothing to stand on a panel; give the board an outline'
            found.append(Fault(key=f"{of}: board.outline", says=says))
    if found:
        raise DesignError(found)


def _differences(one: Mapping[str, object], other: Mapping[str, object], free: set[str]) -> str:
    return ", ".join(key for key in one if key not in free and one[key] != other[key])


def _distinct(variants: Named) -> list[tuple[Named, Result]]:
    """Variants of the same copper together, each group with what is known of its first.

    Findings are those of all of a group, since they depend on the drive too.
    """
    groups: dict[tuple[str, ...], list[tuple[str, Design, Result]]] = {}
    found: list[Fault] = []
    for name, design in variants:
        try:
            result = check(design)
        except DesignError as error:
            of = f"{design.name}, {shown(name)}"
            found += [Fault(key=f"{of}: {fault.key}", says=fault.says) for fault in error.faults]
            continue
        copper = tuple(drawn(replace(result.art, legend=())))
        groups.setdefault(copper, []).append((name, design, result))
    if found:
        raise DesignError(found)
    return [
        (tuple((name, design) for name, design, _ in group), _with_all_findings([each[2] for each in group]))
        for group in groups.values()
    ]


def _with_all_findings(results: Sequence[Result]) -> Result:
    findings = dict.fromkeys(finding for result in results for finding in result.findings)
    return replace(results[0], findings=tuple(findings))


def _board(label: str, served: Named, result: Result) -> Board:
    design, clearance = result.design, result.design.rules.limit("legend_clearance")
    bare = replace(result.art, legend=())
    marks = (design.name, f"rev {design.revision}")
    numbers = legend((), bare, result.coil.terminals, clearance)
    print_ = legend(marks, bare, result.coil.terminals, clearance, label=label)
    labelled = len(legend((), bare, result.coil.terminals, clearance, label=label)) > len(numbers)
    nets = _nets(label, result)
    return Board(
        label=label,
        serves=served,
        result=result,
        coil=_renamed_coil(result.coil, nets),
        art=_renamed(replace(bare, legend=print_), nets),
        labelled=labelled,
    )


def _nets(label: str, result: Result) -> dict[str, str]:
    """The net of each winding on the panel: the label, with the winding's name where there are several."""
    own = dict.fromkeys(terminal.net for terminal in result.coil.terminals)
    if not result.windings:
        return {**dict.fromkeys(own, label), NO_NET: NO_NET}
    names = {}
    for number, net in enumerate(own, start=1):
        long = f"{label}-{net}"
        names[net] = long if len(long) <= LONGEST_NET else f"{label}-W{number}"
    return {**names, NO_NET: NO_NET}


def _renamed(art: Art, nets: Mapping[str, str]) -> Art:
    return replace(
        art,
        traces=tuple(replace(each, net=nets[each.net]) for each in art.traces),
        pads=tuple(replace(each, net=nets[each.net]) for each in art.pads),
        holes=tuple(replace(each, net=nets[each.net]) for each in art.holes),
    )


def _renamed_coil(coil: Coil, nets: Mapping[str, str]) -> Coil:
    return replace(
        coil,
        traces=tuple(replace(each, net=nets[each.net]) for each in coil.traces),
        vias=tuple(replace(each, net=nets[each.net]) for each in coil.vias),
        terminals=tuple(replace(each, net=nets[each.net]) for each in coil.terminals),
    )
