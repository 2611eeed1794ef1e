"""The schema of the project file: the project's own dataclasses, read strictly and checked.

Values are validated by msgspec; what it does not do for dataclasses is done here: unknown, missing and
doubled keys by their path, a choice between two classes (by the keys an object has), every error and not
only the first. A path reads like wheels[0].vertices[3].zz.
"""

from __future__ import annotations

import difflib
import json
import math
import types
import unicodedata
from collections import Counter
from collections.abc import Iterator
from dataclasses import MISSING, fields, is_dataclass
from enum import Enum
from functools import cache
from typing import Any, Union, get_args, get_origin, get_type_hints

import msgspec

from app.files.readers.limits import PROJECT_DEPTH, PROJECT_ITEMS
from app.files.sense import nonsense
from app.project.coating import Coating
from app.project.edits import KINDS, REFERENCES
from app.project.project import Compromise, Fitment, Material, MeasuredGap, Project, TrialFit
from app.project.sheet import SheetSettings
from app.project.strength import OwnConstant, Rating, StrengthSettings, TestPrice, TestRecord
from app.project.versions import circles
from app.project.wheel import Fixing, Hub, RingBody, SingleNut, Spokes, Wheel
from geometry.forging.presses import Press
from geometry.readings.conditions import Conditions
from geometry.readings.rules import GapRule, RuleSet, StockRule, WallRule
from geometry.shape.blank import Blank, PriceStep, Quote, SpunFrom, Tolerance, ToolLimits
from geometry.shape.held import Parameter
from geometry.shape.outline import Brake, Corner, SourceCard
from geometry.shape.section import Vertex
from geometry.tolerances import LARGEST_MM

DEEPEST = PROJECT_DEPTH

#: Whole numbers beyond 64 bits are not read by other programs.
LARGEST_WHOLE = 2**63 - 1

#: The free objects of the project and its parts, kept as they are.
NOTES = "notes"

#: A negative error or reserve would turn a short gap into a clear one; a negative place has no meaning.
NOT_NEGATIVE: dict[type, tuple[str, ...]] = {
    Vertex: ("r", "radius"),
    Corner: ("r", "radius"),
    Blank: (
        "skin_mm",
        "price",
        "least_order",
        "lead_weeks",
        "die_cost",
        "proof_cost",
        "run_setup",
        "least_run",
        "pieces_hour",
        "setup_hours",
        "slug_kg",
    ),
    Press: ("ejector_mm",),
    SpunFrom: ("mandrel_price", "spinning_price", "spinning_min", "wall_mm", "trim_mm"),
    ToolLimits: ("charge_low_kg", "charge_high_kg", "disc_low_mm", "disc_high_mm"),
    PriceStep: ("pieces", "price"),
    Quote: ("holder", "inserts", "piece", "run_setup", "least_run", "lead_weeks"),
    Fitment: (
        "volume_low",
        "volume_likely",
        "volume_high",
        "lip_mm",
        "spoke_mm",
        "multi_piece_price",
    ),
    Compromise: ("lip_mm",),
    Tolerance: ("minus_mm", "plus_mm"),
    SourceCard: ("error_mm", "included_gap_mm", "hat_mm"),
    Brake: ("disc_mm", "hat_height_mm"),
    GapRule: ("paper_mm", "worst_mm", "reserve_mm"),
    WallRule: ("required_mm", "reserve_mm"),
    StockRule: ("required_mm", "reserve_mm"),
    RuleSet: ("seat_land_mm",),
    Conditions: (
        "camber_deg",
        "toe_deg",
        "axial_run_out_mm",
        "radial_run_out_mm",
        "inset_mm",
        "spacer_mm",
        "surface_mm",
        "coating_mm",
        "wheel_hot_k",
        "brake_hot_k",
        "wheel_per_k",
        "brake_per_k",
        "spread_mm",
        "brake_outboard_mm",
        "barrel_mm",
        "lip_mm",
        "debris_gap_mm",
        "debris_length_mm",
    ),
    MeasuredGap: ("gap_mm", "r"),
    TrialFit: ("error_mm",),
    SheetSettings: (
        "inset_mm",
        "width_mm",
        "seat_diameter_mm",
        "radial_run_out_mm",
        "axial_run_out_mm",
        "flatness_mm",
        "bore_mm",
        "hole_mm",
        "hole_position_mm",
        "seat_land_mm",
        "seat_angle_deg",
        "surface_mm",
        "coating_mm",
        "face_ra_um",
        "seat_ra_um",
        "other_ra_um",
    ),
    Material: ("density_kg_m3", "elastic_mpa", "yield_mpa", "ultimate_mpa"),
    Rating: ("axle_kg", "static_kg", "aero_kg", "factor"),
    TestRecord: ("load", "cycles", "striker_kg", "drop_mm"),
    TestPrice: ("price",),
    OwnConstant: ("value",),
    StrengthSettings: ("dent_mm",),
    Coating: ("thickness_mm",),
    Wheel: ("spacer_mm", "load_kg", "tyre_growth_percent"),
    Hub: (
        "bore_mm",
        "hub_pad_mm",
        "chamfer_mm",
        "spigot_mm",
        "spigot_length_mm",
        "spigot_root_radius_mm",
        "flange_mm",
        "stud_length_mm",
        "thread_mm",
    ),
    Fixing: ("count", "circle_mm", "hole_mm", "seat_land_mm", "socket_mm", "ball_radius_mm"),
    SingleNut: ("seat_diameter_mm", "seat_land_mm", "pins", "pin_circle_mm", "pin_hole_mm"),
    Spokes: ("count", "hub_circle_mm"),
    RingBody: ("r_low", "r_high", "mass_kg"),
}

WITHIN_REACH: dict[type, tuple[str, ...]] = {
    Vertex: ("z", "r"),
    Corner: ("z", "r"),
    Wheel: ("inset_mm", "seat_mm", "spacer_mm"),
}

CHOICES: dict[type, dict[str, tuple[str, ...]]] = {
    Project: {"display_unit": ("mm", "in"), "paper": ("A4", "Letter")},
    Spokes: {"fixed_to": ("rim", "hub")},
    Parameter: {"unit": ("mm", "in", "deg", "")},
}


class Doubled(dict[str, Any]):
    """A JSON object in which a key was given twice; the last value stands."""

    def __init__(self, pairs: list[tuple[str, Any]]) -> None:
        super().__init__(pairs)
        self.keys_doubled = [key for key, count in Counter(key for key, _ in pairs).items() if count > 1]


def object_of(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    """Return the JSON object of its pairs, remembering doubled keys (hook of json.loads)."""
    plain = dict(pairs)
    return plain if len(plain) == len(pairs) else Doubled(pairs)


def tidied(value: Any, errors: list[str], path: str = "", depth: int = 1, free: bool = False) -> Any:
    """Return a project or JSON tree as plain objects, lists and scalars, fit to be written.

    -0.0 becomes 0.0, and text is composed (NFC) except in notes (`free`). What JSON cannot hold is added
    to `errors`: numbers that are not finite, half characters, other types, too deep nesting.
    """
    if value is None or isinstance(value, bool):
        return value
    if isinstance(value, str):
        return _text(str(value), errors, path, free)
    if isinstance(value, float):
        if not math.isfinite(value):
            errors.append(f"{path} is {float(value)}; give it a finite number")
        return float(value) + 0.0
    if isinstance(value, int):
        if abs(value) > LARGEST_WHOLE:
            errors.append(f"{path} is a whole number beyond 64 bits; give it a smaller one")
        return int(value)
    if depth > DEEPEST:
        errors.append(f"{path} lies deeper than {DEEPEST} levels; flatten it")
        return None
    if isinstance(value, list) or (isinstance(value, tuple) and not free):
        return [tidied(item, errors, f"{path}[{i}]", depth + 1, free) for i, item in enumerate(value)]
    if isinstance(value, dict):
        return _object(value, errors, path, depth, free)
    if is_dataclass(value) and not free:
        plain = {field.name: getattr(value, field.name) for field in fields(value)}
        return _object(plain, errors, path, depth, free)
    errors.append(f"{path} is a {type(value).__name__}, which a project file cannot hold; remove it")
    return None


def _object(value: dict[Any, Any], errors: list[str], path: str, depth: int, free: bool) -> dict[str, Any]:
    if isinstance(value, Doubled):
        errors.extend(f"{_join(path, key)} is given twice; keep one" for key in value.keys_doubled)
    plain = {}
    for key, item in value.items():
        if not isinstance(key, str):
            errors.append(f"{_join(path, repr(key))}: a key must be text; make it so")
        elif type(item) is float and math.isfinite(item):  # most of a file; here for speed
            plain[key] = item + 0.0
        else:
            within = _join(path, key)
            key = _text(key, errors, within, free=True)
            plain[key] = tidied(item, errors, within, depth + 1, free or key == NOTES)
    return plain


def _text(value: str, errors: list[str], path: str, free: bool) -> str:
    if value.isascii():
        return value
    try:
        value.encode()
    except UnicodeEncodeError:
        errors.append(f"{_shown(path)} holds half a character (a lone surrogate); type it anew")
        return ""
    return value if free else unicodedata.normalize("NFC", value)


def read(tree: Any, errors: list[str]) -> Project | None:
    """Return the project of a tidied tree, or None with every reason added to `errors`."""
    before = len(errors)
    project = read_as(tree, Project, "", errors)
    return project if len(errors) == before else None


def read_as(tree: Any, hint: Any, path: str, errors: list[str]) -> Any:
    """Return the value of a tidied tree by its type hint, None where `errors` got a reason."""
    if not inner(hint):
        return _leaf(tree, hint, path, errors)
    if get_origin(hint) is tuple:
        if not isinstance(tree, list):
            return _refuse(tree, "a list", path, errors)
        if len(tree) > PROJECT_ITEMS:
            errors.append(f"{path} holds {len(tree)}; at most {PROJECT_ITEMS} are read: thin it out")
            return None
        return tuple(read_as(item, get_args(hint)[0], f"{path}[{i}]", errors) for i, item in enumerate(tree))
    if tree is None and types.NoneType in get_args(hint):
        return None
    if not isinstance(tree, dict):
        return _refuse(tree, "an object", path, errors)
    return _instance(tree, class_of(tree, hint), path, errors)


def _instance(tree: dict[str, Any], cls: type, path: str, errors: list[str]) -> Any:
    hints = hints_of(cls)
    before = len(errors)
    if tree.keys() == hints.keys() and _is_flat(cls):
        try:
            return msgspec.convert(tree, cls, strict=True)
        except msgspec.ValidationError:
            pass  # found again below, with its path
    for key in [key for key in tree if key not in hints]:
        near = difflib.get_close_matches(key, hints, 1)
        mend = f'perhaps "{near[0]}" is meant' if near else "remove it"
        errors.append(f"{_join(path, key)} is not a key of the project file; {mend}")
    for key in [key for key in required(cls) if key not in tree]:
        errors.append(f"{_join(path, key)} is missing; add it ({described(hints[key])})")
    values = {
        key: read_as(tree[key], hint, _join(path, key), errors) for key, hint in hints.items() if key in tree
    }
    if len(errors) > before:
        return None
    try:
        return cls(**values)
    except ValueError as error:
        errors.append(f"{_shown(path)}: {str(error).removesuffix('.')}")
        return None


def _leaf(tree: Any, hint: Any, path: str, errors: list[str]) -> Any:
    try:
        return msgspec.convert(tree, hint, strict=True)
    except msgspec.ValidationError:
        return _refuse(tree, described(hint), path, errors)


def _refuse(tree: Any, needed: str, path: str, errors: list[str]) -> None:
    text = json.dumps(tree, ensure_ascii=False)
    text = text if len(text) <= 40 else f"{text[:36]} ..."
    errors.append(f"{_shown(path)} is {text}; it must be {needed}")


def _join(path: str, key: str) -> str:
    return f"{path}.{key}" if path else key


def _shown(path: str) -> str:
    return path or "the project"


def class_of(tree: dict[str, Any], hint: Any) -> type:
    """Return which dataclass of a hint an object is: the one with most of its keys."""
    return max(inner(hint), key=lambda c: len(hints_of(c).keys() & tree.keys()))


@cache
def hints_of(cls: type) -> dict[str, Any]:
    """Return the types of a dataclass's fields."""
    return get_type_hints(cls)


@cache
def required(cls: type) -> tuple[str, ...]:
    """Return the fields of a dataclass that have no starting value."""
    return tuple(f.name for f in fields(cls) if f.default is MISSING and f.default_factory is MISSING)


@cache
def inner(hint: Any) -> tuple[type, ...]:
    """Return the dataclasses that a hint leads to; none for a value that msgspec reads by itself."""
    if is_dataclass(hint):
        return (hint,)  # type: ignore[return-value]
    return tuple(cls for argument in get_args(hint) for cls in inner(argument))


@cache
def _is_flat(cls: type) -> bool:
    return not any(inner(hint) for hint in hints_of(cls).values())


_WORDS: dict[Any, str] = {
    float: "a number",
    int: "a whole number",
    str: "text",
    bool: "true or false",
    types.NoneType: "null",
}


def described(hint: Any) -> str:
    """Return in words what a field of this type holds."""
    origin, arguments = get_origin(hint), get_args(hint)
    if origin in (types.UnionType, Union):
        return " or ".join(described(argument) for argument in arguments)
    if origin is tuple and arguments[-1] is Ellipsis:
        return f"a list, each item {described(arguments[0])}"
    if origin is tuple:
        return f"a list of {len(arguments)}, each {described(arguments[0])}"
    if isinstance(hint, type) and issubclass(hint, Enum):
        return "one of " + ", ".join(f'"{member.value}"' for member in hint)
    if is_dataclass(hint):
        return f"an object ({hint.__name__})"  # type: ignore[union-attr]
    return _WORDS.get(hint, "a free object")


def problems(project: Project) -> list[str]:
    """Return what is wrong with the values of a project, each with its path.

    An outline that crosses itself is none: that is a fault of a valid project, shown in the drawing.
    """
    found = [*_wrong_names(project), *_lost_references(project), *_circles(project)]
    for path, part in _parts(project, ""):
        found.extend(wrong_values(path, part))
    return found or list(_wrong_sections(project))


def wrong_within(part: Any, path: str) -> Iterator[str]:
    """Yield what is wrong with the values of one part of a project, whatever it names."""
    if is_dataclass(part):
        for within, each in _parts(part, path):
            yield from wrong_values(within, each)
        if isinstance(part, Wheel):
            yield from _wrong_section(path, part)


def _wrong_names(project: Project) -> Iterator[str]:
    for kind in KINDS:
        first: dict[str, int] = {}
        for i, name in enumerate(kind.names(project)):
            path = f"{kind.field}[{i}].name"
            if not name.strip():
                yield f"{path} is empty; give the {kind.word} a name"
            elif name in first:
                other = f"{kind.field}[{first[name]}]"
                yield f'{path} "{name}" is already the name of {other}; rename one of them'
            first.setdefault(name, i)


def _lost_references(project: Project) -> Iterator[str]:
    for reference in REFERENCES:
        known = set(reference.target.names(project))
        for i, part in enumerate(reference.holder.of(project)):
            for name in reference.names(part):
                if name not in known:
                    path = f"{reference.holder.field}[{i}].{reference.field}"
                    word = reference.target.word
                    yield f'{path} names the {word} "{name}", which the project lacks; add it or name another'


def _circles(project: Project) -> Iterator[str]:
    for i in circles(project):
        wheel = project.wheels[i]
        yield f'wheels[{i}].made_from "{wheel.made_from}" leads back to "{wheel.name}"; name an older version'


def _parts(part: Any, path: str) -> Iterator[tuple[str, Any]]:
    """Yield a dataclass and every one within it, each with its path."""
    yield path, part
    for name, hint in hints_of(part.__class__).items():
        if not inner(hint):
            continue
        value = getattr(part, name)
        within = _join(path, name)
        if isinstance(value, tuple):
            for i, item in enumerate(value):
                yield from _parts(item, f"{within}[{i}]")
        elif value is not None:
            yield from _parts(value, within)


def wrong_values(path: str, part: Any) -> Iterator[str]:
    """Yield what is wrong with the fields of one part alone."""
    cls = type(part)
    for name in NOT_NEGATIVE.get(cls, ()):
        value = getattr(part, name)
        if value is not None and value < 0.0:
            yield f"{_join(path, name)} is {value:g}; it must be zero or more"
    for name in WITHIN_REACH.get(cls, ()):
        value = getattr(part, name)
        if abs(value) > LARGEST_MM:
            yield f"{_join(path, name)} is {value:g}; it must lie within {LARGEST_MM:g} mm (check the unit)"
    for name, allowed in CHOICES.get(cls, {}).items():
        value = getattr(part, name)
        if value not in allowed:
            yield f'{_join(path, name)} is "{value}"; it must be one of {", ".join(allowed)}'
    for name, sentence in nonsense(part):
        yield f"{_join(path, name)} {sentence}"


def _wrong_sections(project: Project) -> Iterator[str]:
    """Yield the wheels whose locked rim contour cannot be drawn."""
    for i, wheel in enumerate(project.wheels):
        yield from _wrong_section(f"wheels[{i}]", wheel)


def _wrong_section(path: str, wheel: Wheel) -> Iterator[str]:
    try:
        _ = wheel.section
    except (ValueError, ArithmeticError) as error:  # GeometryError, or numbers that no contour bears
        yield f"{path}.{'rim' if wheel.rim else 'vertices'}: {str(error).removesuffix('.')}"
