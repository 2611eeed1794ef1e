"""The tyre of a wheel: whether its size suits rim and load, and its gap to body and suspension as a ring."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum
from functools import lru_cache

from app.project.project import Project
from app.project.tyres import (
    TyreError,
    TyreSize,
    approved_rims,
    choice_words,
    exact_section_width_mm,
    is_few,
    least_index,
    load_of_index_kg,
    measuring_rim_code,
    overall_diameter_mm,
    parse_tyre,
    section_width_mm,
    static_loaded_radius_mm,
)
from app.project.wheel import SizeCode, Wheel
from app.studies.fit import hold
from app.units import LengthUnit, format_length
from geometry.errors import GeometryError
from geometry.readings.conditions import Conditions
from geometry.readings.gap_rows import gap_rows
from geometry.readings.rows import GapRow, Held, Ring
from geometry.readings.rules import GapRule, RuleSet, State
from geometry.readings.stack import StackRow, stack_rows
from geometry.shape.curve import Path
from geometry.shape.outline import Corner, ShapeKind, StayOut, placed_outline
from geometry.shape.published import Status, specified_diameter_mm
from geometry.shape.section import Outline

#: What a tyre may come near to. A caliper and its shield lie inside the rim, unless they reach out of it.
TYRE_KINDS = (
    ShapeKind.ARM,
    ShapeKind.DAMPER,
    ShapeKind.TIE_ROD,
    ShapeKind.HOSE,
    ShapeKind.KNUCKLE,
    ShapeKind.OTHER,
)
#: Of these one each, or the tyre is not judged against body and suspension as a whole.
_CAR = {ShapeKind.ARM: "arms", ShapeKind.DAMPER: "damper", ShapeKind.OTHER: "liner or body"}
NOT_JUDGED = "Tyre to body and suspension not judged"

#: A caliper or shield that reaches nearer to the bead seats' radius than this may come near the tyre, mm.
_INSIDE_MM = 10.0
#: Parts of the brake: a tyre that clears them is not judged against body and suspension.
_BRAKE = (ShapeKind.KNUCKLE, ShapeKind.CALIPER, ShapeKind.SHIELD)

#: Radius of the ring's shoulders: assumption, less than any tyre's, so that the ring is never too small.
_SHOULDER_MM = 15.0
_RING = "tyre"


class Word(StrEnum):
    """What is to be done about a finding, worst first."""

    WRONG = "wrong"
    LOOK = "look"
    FINE = "fine"


@dataclass(frozen=True)
class Finding:
    """One thing to know about the size of a tyre.

    Attributes:
        key, name: stable short name; words shown.
        value, unit: what was found, where it is a number; mm, kg or code. decimals: that it is worth in mm.
        needs: what it must be, as text in the same unit; empty where nothing is asked.
        text: what that means, as a sentence.
        source: what it rests on, and how far that is confirmed.
        is_from_memory: a number from memory may warn, but not decide.
    """

    key: str
    name: str
    word: Word
    text: str
    source: str
    value: float | None = None
    unit: str = ""
    needs: str = ""
    decimals: int = 0
    is_from_memory: bool = False

    @property
    def decides(self) -> bool:
        """True for what is wrong by a number that somebody published."""
        return self.word is Word.WRONG and not self.is_from_memory


@dataclass(frozen=True)
class TyreRead:
    """A tyre as a ring round the rim.

    Attributes:
        rows: its gap to each shape that a tyre may come near to.
        judged: which parts it was held against and which are not given, as a sentence.
        worst: the rows in the worst state of the wheel's conditions; none without conditions.
        findings: what there is to know about the size.
    """

    rows: tuple[GapRow, ...]
    judged: str
    worst: tuple[StackRow, ...] = ()
    findings: tuple[Finding, ...] = ()

    @property
    def states(self) -> list[State]:
        """States that count in the wheel's.

        A finding that decides (load index below the wheel load, rim outside a published range) is 'short':
        no gap makes up for it. What only wants a look is shown beside the state.
        """
        rows: tuple[GapRow | StackRow, ...] = (*self.rows, *self.worst)
        found = [row.state for row in rows if row.state is not None]
        wrong = any(finding.decides for finding in self.findings)
        return [*found, State.SHORT] if wrong else found


# Size


def tyre_findings(wheel: Wheel) -> tuple[Finding, ...]:
    """Return what there is to know about the size of a wheel's tyre: rim, width, diameter, load, choice."""
    return _findings(wheel.tyre, wheel.size, wheel.load_kg)


def worst_word(findings: tuple[Finding, ...]) -> Word:
    """Return the worst word of the findings."""
    words = list(Word)
    return min((f.word for f in findings), key=words.index)


# A drag asks for the same tyre at every step.
@lru_cache(64)
def _findings(text: str, rim: SizeCode, load_kg: float | None) -> tuple[Finding, ...]:
    if not text.strip():
        words = "No tyre is stated; without it neither rim width nor load can be judged."
        return (Finding("size", "Tyre size", Word.LOOK, words, "wheel details"),)
    try:
        size = parse_tyre(text)
    except TyreError as error:
        return (Finding("size", "Tyre size", Word.WRONG, str(error), "wheel details"),)
    return (
        _rim_diameter(size, rim),
        _rim_width(size, rim),
        _measuring_rim(size, rim),
        _section_width(size, rim),
        _overall_diameter(size),
        _loaded_radius(size),
        _load(size, load_kg),
        _choice(size, rim),
    )


def _rim_diameter(size: TyreSize, rim: SizeCode) -> Finding:
    fits = size.rim_code == rim.diameter_code
    text = f"{size} fits a rim of {size.rim_code:g}; this rim is {rim.diameter_code:g}."
    if not fits:
        text = f"{text} Choose a tyre for {rim.diameter_code:g}."
    word = Word.FINE if fits else Word.WRONG
    return Finding(
        "rim diameter",
        "Rim diameter",
        word,
        text,
        "size marking",
        size.rim_code,
        "code",
        f"{rim.diameter_code:g}",
    )


def _rim_width(size: TyreSize, rim: SizeCode) -> Finding:
    found = approved_rims(size)
    name, width = "Rim width", rim.width_code
    if found is None:
        text = f"{size} is not in the table of common sizes: ask the tyre maker for its approved rims."
        return Finding("rim width", name, Word.LOOK, text, "table of common sizes", width, "code")
    span = f"{found.low:g} to {found.high:g}"
    if width < found.low or width > found.high:
        off = found.low - width if width < found.low else width - found.high
        side = "narrow" if width < found.low else "wide"
        text = f"{size} is approved for rims of {span}; this rim, {width:g}, is {off:g} too {side}."
        word = Word.WRONG
    else:
        text, word = f"{size} is approved for rims of {span}; this rim is {width:g}.", Word.FINE
    if found.status is Status.MEMORY:
        text += " The range is from memory: confirm it with the tyre maker."
    return Finding(
        "rim width",
        name,
        word,
        text,
        f"table of common sizes, {found.status}",
        width,
        "code",
        span,
        is_from_memory=found.status is Status.MEMORY,
    )


def _measuring_rim(size: TyreSize, rim: SizeCode) -> Finding:
    code = measuring_rim_code(size)
    text = f"The width by name is measured on a rim of {code:g}; this rim is {rim.width_code:g}."
    source = f"public listing of tyre formulas, {Status.SECONDARY}"
    return Finding("measuring rim", "Measuring rim", Word.FINE, text, source, code, "code")


def _section_width(size: TyreSize, rim: SizeCode) -> Finding:
    width = section_width_mm(size, rim.width_code)
    text = f"Section width on a rim of {rim.width_code:g}; half a code of rim width is 5.08 mm of tyre."
    source = f"UN R30 6.1.1.1, {Status.READ}; its share of the width, {Status.SECONDARY}"
    return Finding("section width", "Section width", Word.FINE, text, source, width, "mm")


def _overall_diameter(size: TyreSize) -> Finding:
    source = f"trade formula after UN R30, {Status.MEMORY}"
    text = "By design, new and without load."
    value = overall_diameter_mm(size)
    return Finding("overall diameter", "Overall diameter", Word.FINE, text, source, value, "mm", decimals=1)


def _loaded_radius(size: TyreSize) -> Finding:
    source = f"public listing of tyre formulas, {Status.SECONDARY}"
    text, value = "An estimate, 5 mm either way.", static_loaded_radius_mm(size)
    return Finding("loaded radius", "Static loaded radius", Word.FINE, text, source, value, "mm")


def _load(size: TyreSize, load_kg: float | None) -> Finding:
    source, name = f"load-index table, {Status.SECONDARY}", "Load"
    if size.load_index is None:
        text = "The load index is not stated: write it behind the size, as in 265/35R18 97Y."
        if load_kg is not None:
            least = least_index(load_kg)
            asked = f"{least} or more" if least else "more than the table holds"
            text += f" A wheel load of {load_kg:g} kg asks for {asked}."
        return Finding("load", name, Word.LOOK, text, source)
    carries = load_of_index_kg(size.load_index)
    if carries is None:
        text = f"Load index {size.load_index} is not in the table (80 to 110): look it up."
        return Finding("load", name, Word.LOOK, text, source)
    text = f"Load index {size.load_index} carries {carries:g} kg"
    if load_kg is None:
        word, text = Word.LOOK, f"{text}; the wheel load is not known: state it in Wheel details."
    elif carries < load_kg:
        word, text = (
            Word.WRONG,
            f"{text}, {load_kg - carries:g} kg less than the wheel load of {load_kg:g} kg.",
        )
    else:
        word, text = Word.FINE, f"{text}; the wheel load is {load_kg:g} kg."
    return Finding("load", name, word, text, source, carries, "kg", "" if load_kg is None else f"{load_kg:g}")


def _choice(size: TyreSize, rim: SizeCode) -> Finding:
    codes = (rim.diameter_code - 1.0, rim.diameter_code, rim.diameter_code + 1.0)
    words = ", ".join(choice_words(size.width_mm, code) for code in codes)
    text = f"Common sizes {size.width_mm} wide: {words}. The table is short: ask what is made."
    source = f"table of common sizes, {Status.MEMORY}"
    return Finding("choice", "Tyres of this width", Word.FINE, text, source)


def few_tyres(wheel: Wheel, diameter_code: float) -> str:
    """Return a warning where another rim diameter leaves few tyres of a wheel's tyre width; else nothing."""
    try:
        size = parse_tyre(wheel.tyre)
    except TyreError:
        return ""
    if diameter_code == size.rim_code or not is_few(size.width_mm, diameter_code):
        return ""
    words = f"Few tyres: of common sizes {size.width_mm} wide {choice_words(size.width_mm, diameter_code)}"
    return f"{words}. The table is from memory: ask what is made."


def value_words(finding: Finding, unit: LengthUnit) -> str:
    """Return a finding's value as shown, without its unit; nothing where it has none."""
    if finding.value is None:
        return ""
    if finding.unit != "mm":
        return f"{finding.value:g}"
    digits = finding.decimals + (unit == "in")
    return format_length(finding.value, unit, digits, with_unit=False)


# Ring


def tyre_ring(wheel: Wheel) -> Path:
    """Return the outline of a wheel's tyre in the hub's frame, as large as growth in service makes it.

    A box from the rim's specified diameter outwards with round shoulders: wider at the bead and squarer at
    the tread than a tyre is, so that no gap to it is read too large.

    Raises:
        TyreError: the size cannot be read, or is for another rim diameter.
        GeometryError: the rim diameter is not a published one.
    """
    size = parse_tyre(wheel.tyre)
    if size.rim_code != wheel.size.diameter_code:
        raise TyreError(f"{size} fits a rim of {size.rim_code:g}; this rim is {wheel.size.diameter_code:g}.")
    growth = 1.0 + wheel.tyre_growth_percent / 100.0
    code = wheel.size.width_code
    half = exact_section_width_mm(size, code) * growth / 2.0
    low, high = specified_diameter_mm(size.rim_code) / 2.0, overall_diameter_mm(size, growth) / 2.0
    centre = wheel.spacer_mm - wheel.inset_mm
    inner, outer = centre - half, centre + half
    corners = (
        Corner(inner, low),
        Corner(outer, low),
        Corner(outer, high, _SHOULDER_MM),
        Corner(inner, high, _SHOULDER_MM),
    )
    path = placed_outline(corners, 0.0)
    if not isinstance(path, Path):
        raise TyreError(f"{size} on a rim of {code:g} gives no ring: {path[0].message}")
    return path


def tyre_meets(project: Project, wheel: Wheel) -> tuple[str, ...]:
    """Return the names of the shapes that a wheel's tyre is held against, in the order of its rows."""
    try:
        tyre_ring(wheel)
    except (TyreError, GeometryError):
        return ()
    shapes = {shape.name: shape for shape in project.shapes}
    return tuple(name for name in wheel.clears if name in shapes and may_meet_tyre(wheel, shapes[name]))


def may_meet_tyre(wheel: Wheel, shape: StayOut) -> bool:
    """True for what is outside the rim, and for parts of the brake that reach out of it."""
    if shape.kind in TYRE_KINDS:
        return True
    try:
        inside = specified_diameter_mm(wheel.size.diameter_code) / 2.0 - _INSIDE_MM
    except GeometryError:
        return True
    paths = [placed_outline(outline.corners, 0.0) for outline in shape.outlines]
    return any(not isinstance(path, Path) or path.bounds[3] > inside for path in paths)


def on_tyre(
    project: Project, wheel: Wheel, outline: Outline, conditions: Conditions | None = None
) -> TyreRead:
    """Return what is found about a wheel's tyre: its size, and its gaps to what it may come near to.

    The rule is the stricter of that for the kind of shape and that for anything else, which a tyre needs to
    any part; both its parts are asked of the grown tyre. The ring moves as the wheel does; it is not given a
    flex of its own.

    Args:
        project: holds the shapes and rules that the wheel names.
        wheel: whose tyre it is.
        outline: of the wheel, in the hub's frame.
        conditions: what eats the gaps; without any there is no worst state.
    """
    return replace(_gaps(project, wheel, outline, conditions), findings=tyre_findings(wheel))


def _gaps(project: Project, wheel: Wheel, outline: Outline, conditions: Conditions | None) -> TyreRead:
    held = hold(project, wheel)
    if not isinstance(held, Held):
        return TyreRead((), f"{NOT_JUDGED}.")
    near = tuple((shape, paths) for shape, paths in held.shapes if may_meet_tyre(wheel, shape))
    if not near:
        return TyreRead((), f"{NOT_JUDGED}.")
    try:
        # The wheel's own ring bodies are read elsewhere; only the tyre's rows are wanted.
        ring = Ring(_RING, tyre_ring(wheel))
    except (TyreError, GeometryError) as error:
        why = str(error) if wheel.tyre.strip() else "no tyre is stated."
        return TyreRead((), f"{NOT_JUDGED}: {why}")
    rules = None if held.rules is None else _for_tyre(held.rules)
    held = replace(held, shapes=near, rules=rules, rings=(ring,))
    rows = tuple(row for row in gap_rows(outline, held) if row.body == _RING)
    stack = () if conditions is None else stack_rows(outline, held, conditions, rows)
    return TyreRead(rows, _judged([(shape.name, shape.kind) for shape, _ in near]), stack)


def _for_tyre(rules: RuleSet) -> RuleSet:
    """Return the rules with one for each kind of shape, the strictest that a tyre must meet."""
    other = rules.largest_gap(ShapeKind.OTHER)
    gap: list[GapRule] = []
    for kind in ShapeKind:
        both = [rule for rule in (rules.largest_gap(kind), other) if rule is not None]
        if both:
            gap.append(replace(max(both, key=lambda rule: rule.strictness), kind=kind, zone=None))
    return replace(rules, gap=tuple(gap))


def _judged(shapes: list[tuple[str, ShapeKind]]) -> str:
    if all(kind in _BRAKE for _, kind in shapes):  # read, but no body or suspension
        return f"{NOT_JUDGED}."
    missing = [words for kind, words in _CAR.items() if all(k is not kind for _, k in shapes)]
    text = f"Tyre judged against {', '.join(name for name, _ in shapes)}"
    return f"{text}; not against {', '.join(missing)}: not given." if missing else f"{text}."
