"""A winding's sizes as written, completed to all that its shape is told by."""

from collections.abc import Mapping

from coilgen.design import sizing
from coilgen.design.keys import SI, Refused, si_of
from coilgen.design.measure import Measure, measure_of
from coilgen.errors import shown
from coilgen.frozen import dataclass
from coilgen.units import in_mm, size_in_mm

Given = Mapping[str, object]
Filled = dict[str, object]

SIZES = ("outer_size", "inner_size")
SECTOR = ("inner_radius", "outer_radius", "angle")
_EXAMPLES = {
    "turns": "turns = 14",
    "trace_width": 'trace_width = "0.2 mm"',
    "trace_spacing": 'trace_spacing = "0.2 mm"',
    "outer_size": 'outer_size = "24 mm"',
    "inner_size": 'inner_size = "8 mm"',
}
_ONE_MEASURE = Measure(says="size")


def ring_of(inner_radius: float | None, outer_radius: float | None) -> float | None:
    """How far from the centre of a sector's ring its own middle lies, m: half way between its arcs."""
    if inner_radius is None or outer_radius is None:
        return None
    return (inner_radius + outer_radius) / 2


def completed(given: Given) -> tuple[Filled, tuple[str, ...]]:
    """What to put in place of what was given, and notes on what was rounded; nothing while it is faulty.

    Of a sector `outer_size` is what its radii have between them: of the three any two do.
    """
    measure = measure_of(given.get("shape")) or _ONE_MEASURE
    unfit = {**_miscounted(given, measure), **_foreign(given, measure)}
    if unfit:
        return unfit, ()
    if not measure.sector:
        return _five(given, measure)
    told = _radial_size(given)
    if any(isinstance(value, Refused) for value in told.values()):
        return told, ()
    five, notes = _five({**given, **told}, measure)
    found = {**told, **five}
    return {**found, **_radii({**given, **found})}, notes


def _miscounted(given: Given, measure: Measure) -> Filled:
    """Sizes of one number where two are meant, and the other way round."""
    shape, found = given.get("shape"), Filled()
    for key in SIZES:
        several = isinstance(given.get(key), list | tuple)
        if key in given and several and measure.count == 1:
            says = f"{shown(shape)} has one size, {measure.says}, and not a list; write {_EXAMPLES[key]}"
            found[key] = Refused(says)
        if key in given and not several and measure.count == 2:
            says = f'{shown(shape)} has two sizes, x and y; write {key} = ["34 mm", "19 mm"]'
            found[key] = Refused(says)
    return found


def _foreign(given: Given, measure: Measure) -> Filled:
    """Keys of a sector with a shape that is none, and those that a sector lacks."""
    if measure.sector:
        says = "not given; an angle over the copper in degrees, such as angle = 40"
        return {} if "angle" in given else {"angle": Refused(says)}
    shape = given.get("shape")
    return {
        key: Refused(f"has no use with shape {shown(shape)}, whose outer_size is told; leave it out")
        for key in SECTOR
        if key in given and measure is not _ONE_MEASURE
    }


def _radial_size(given: Given) -> Filled:
    """The outer_size that two radii tell, where both are sound."""
    told = [key for key in ("inner_radius", "outer_radius") if key in given]
    if not told:
        says = "not given; a ring's sector is told by inner_radius and outer_radius, or one and outer_size"
        return {"outer_radius": Refused(says)}
    radii = [si_of(given, key, "length") for key in ("inner_radius", "outer_radius")]
    if radii[0] is None or radii[1] is None:
        return {}
    across = radii[1] - radii[0]
    if across <= 0:
        says = f"{in_mm(radii[0])} is not under outer_radius, {in_mm(radii[1])}"
        says += "; lower the one or raise the other"
        return {"inner_radius": Refused(says)}
    asked = si_of(given, "outer_size", "length")
    if asked is not None and abs(asked - across) > sizing.AGREEMENT:
        says = (
            f"{in_mm(asked)} is not the {in_mm(across)} between inner_radius and outer_radius; leave it out"
        )
        return {"outer_size": Refused(says)}
    return {} if "outer_size" in given else {"outer_size": SI(round(across, 12))}


def _radii(given: Given) -> Filled:
    """The radius that the other one and outer_size leave."""
    inner, outer = (si_of(given, key, "length") for key in ("inner_radius", "outer_radius"))
    across = si_of(given, "outer_size", "length")
    if across is None or (inner is None) == (outer is None):
        return {}
    if inner is not None:
        return {} if "outer_radius" in given else {"outer_radius": SI(round(inner + across, 12))}
    assert outer is not None, "one of the two is told"
    if outer <= across:
        says = f"{in_mm(outer)} is not over outer_size, {in_mm(across)}; raise it, or lower the other"
        return {"outer_radius": Refused(says)}
    return {} if "inner_radius" in given else {"inner_radius": SI(round(outer - across, 12))}


def _five(given: Given, measure: Measure) -> tuple[Filled, tuple[str, ...]]:
    """What to put in place of the given five numbers, and notes; nothing while one of them is faulty."""
    present = [name for name in sizing.NUMBERS if name in given]
    if len(present) < 4:
        return _too_few(present, measure), ()
    scalars = {
        name: si_of(given, name, "number" if name == "turns" else "length")
        for name in present
        if name not in SIZES
    }
    sizes = {name: sizes_of(given, name) for name in present if name in SIZES}
    sound = {name: value for name, value in scalars.items() if value is not None and value > 0}
    roomy = {name: value for name, value in sizes.items() if value is not None and min(value) > 0}
    if len(sound) + len(roomy) < len(present):
        return {}, ()
    return _of_narrowest(sound, roomy, _form(given, measure))


def sizes_of(given: Given, key: str) -> tuple[float, ...] | None:
    """The SI values of a size, one or two; None while it is faulty."""
    value = given.get(key)
    each = value if isinstance(value, list | tuple) else [value]
    found = [si_of({key: one}, key, "length") for one in each]
    known = tuple(one for one in found if one is not None)
    return known if len(known) == len(found) in (1, 2) else None


def _form(given: Given, measure: Measure) -> sizing.Form:
    corner = given.get("corner", "sharp")
    if corner not in ("chamfered", "rounded") or not isinstance(corner, str):
        return measure.form("sharp", 0.0)
    size = si_of(given, "corner_size", "length")
    width = si_of(given, "trace_width", "length")
    if size is None:
        size = float("inf") if width is None else width
    return measure.form(corner, size)


@dataclass(frozen=True)
class _Widths:
    """By how much each of two sizes is over the lesser, m."""

    over: tuple[float, ...]

    def sizes(self, least: float) -> object:
        """All sizes, of which the lesser is given."""
        each = tuple(SI(round(least + over, 12)) for over in self.over)
        return each[0] if len(each) == 1 else each


def _of_narrowest(
    sound: Mapping[str, float], sizes: Mapping[str, tuple[float, ...]], form: sizing.Form
) -> tuple[Filled, tuple[str, ...]]:
    """By the direction in which there is least room; the other is wider by the same, outside and inside."""
    told = next(iter(sizes.values()))
    widths = _Widths(tuple(size - min(told) for size in told))
    uneven = _uneven(sizes)
    if uneven:
        return uneven, ()
    numbers = {**sound, **{name: min(value) for name, value in sizes.items()}}
    if len(numbers) == 5:
        return _agreeing(numbers, widths, form), ()
    return _derived(numbers, widths, form)


def _uneven(sizes: Mapping[str, tuple[float, ...]]) -> Filled:
    """Two directions between whose sizes the copper would be of two widths."""
    if len(sizes) < 2 or len(sizes["outer_size"]) != len(sizes["inner_size"]):
        return {}
    across = [out - inside for out, inside in zip(sizes["outer_size"], sizes["inner_size"], strict=True)]
    if max(across) - min(across) <= 2 * sizing.AGREEMENT:
        return {}
    says = (
        f"leaves {in_mm(across[0])} of outer_size in x and {in_mm(across[1])} in y, and the copper is "
        "as wide all round; make both alike, or leave inner_size out and it is derived"
    )
    return {"inner_size": Refused(says)}


def _too_few(present: list[str], measure: Measure) -> Filled:
    missing = [name for name in sizing.NUMBERS if name not in present]
    needed = 4 - len(present)
    example = _EXAMPLES[missing[0]]
    if measure.count == 2 and missing[0] in SIZES:
        example = f'{missing[0]} = ["34 mm", "19 mm"]'
    return {
        missing[0]: Refused(
            f"not given; four of {', '.join(sizing.NUMBERS)} are needed and {len(present)} given: "
            f"add {needed} of {', '.join(missing)}, for instance {example}"
        )
    }


def _agreeing(numbers: Mapping[str, float], widths: _Widths, form: sizing.Form) -> Filled:
    over = sizing.disagreement(numbers, form)
    if abs(over) <= sizing.AGREEMENT:
        return {}
    given, made = (
        size_in_mm(tuple(size + each for each in widths.over))
        for size in (numbers["outer_size"], numbers["outer_size"] - over)
    )
    return {
        "outer_size": Refused(
            f"{given} is {in_mm(abs(over))} {'over' if over > 0 else 'under'} the "
            f"{made} that turns, trace_width, trace_spacing and inner_size "
            "make; leave one of the five out and it is derived"
        )
    }


def _derived(
    numbers: Mapping[str, float], widths: _Widths, form: sizing.Form
) -> tuple[Filled, tuple[str, ...]]:
    try:
        values, notes = sizing.derived(numbers, form)
    except sizing.UnfitError as unfit:
        (missing,) = set(sizing.NUMBERS) - set(numbers)
        return {missing: Refused(f"cannot be derived: {unfit}")}, ()
    found = {name: widths.sizes(value) if name in SIZES else SI(value) for name, value in values.items()}
    return found, notes
