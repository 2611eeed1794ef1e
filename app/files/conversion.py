"""What it means for the work that a file of an older format is opened, in words for the user.

A step between formats cannot know what nobody was asked. What it leaves open is said here, one sentence
for each raise of the format; what took its starting value is listed by its path.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from app.files.migrations import FORMAT, Tree
from app.files.schema import class_of, hints_of, inner
from app.project.project import Project

#: By the format that a step leads to: lists of which one must hold something, and what is then said.
SAID: Mapping[int, tuple[tuple[str, ...], str]] = {
    2: (("shapes",), "Which brake a shape shows was not asked; of these shapes it is not stated."),
    3: (
        ("wheels", "shapes"),
        "Conditions of the road and owners of shapes were not asked: no wheel is held against its worst "
        "state until it names conditions, and every shape counts as the house's own. Set owners before a "
        "copy goes to a customer.",
    ),
    4: (("wheels",), "Section sheets begin with the starting tolerances; nothing counts as released."),
    5: (
        ("blanks", "rule_sets"),
        "Blanks have no tolerances and no prices: stock is read to the outline as drawn until tolerances are "
        "given. Shop rates are the starting ones. No gap rule is for ring bodies alone.",
    ),
    6: (
        ("blanks", "fitments"),
        "The die programme was not asked: settings are the starting ones, no fitment has a compromise.",
    ),
    7: (("blanks",), "How a spun blank comes about was not asked; no spun blank says its ring or mandrel."),
    8: (
        ("wheels", "materials"),
        "Strength was not screened: own metals have no strength, ratings are as stated, no test is recorded.",
    ),
    9: (("blanks",), "What a set of tools can make beside its own blank is still to be asked of the forge."),
    10: (
        ("test_records",),
        "Recorded tests say neither which drawing was tested nor how an impact was run: they are of no known "
        "drawing.",
    ),
    11: (("wheels",), "From which version a wheel was made, and why, was not asked."),
    12: (
        ("wheels",),
        "Nothing of an outline was driven by a formula or held by a constraint; nothing is now.",
    ),
    13: (
        ("blanks", "wheels"),
        "Presses at hand and slugs of pierced blanks were not asked: presses are the starting ones. Coating "
        "and side of wheels were not asked: bores and holes are judged bare.",
    ),
}


def changes(tree: Tree, written: int) -> tuple[str, ...]:
    """Return what to say of a migrated tree that was written in an older format; nothing of today's."""
    if written == FORMAT:
        return ()
    steps = [SAID[n] for n in range(written + 1, FORMAT + 1)]
    said = [words for holders, words in steps if any(tree.get(holder) for holder in holders)]
    fields: dict[str, list[str]] = {}
    for path in left_out(tree):
        holder, _, key = path.rpartition(".")
        fields.setdefault(holder or "project", []).append(key)
    if fields:
        listed = "; ".join(f"{holder}: {', '.join(keys)}" for holder, keys in fields.items())
        said.append(f"Starting values stand for what the file does not hold. {listed}.")
    return tuple(said)


def left_out(tree: Tree) -> tuple[str, ...]:
    """Return the keys of the schema that a tree does not hold, each once, in the order of the file."""
    found: dict[str, None] = {}
    _left_out(tree, Project, "", found)
    return tuple(found)


def _left_out(value: Any, hint: Any, path: str, found: dict[str, None]) -> None:
    if isinstance(value, list):
        for item in value:
            _left_out(item, hint, f"{path}[]", found)
    elif isinstance(value, dict) and inner(hint):
        cls = class_of(value, hint)
        for key, of in hints_of(cls).items():
            within = f"{path}.{key}" if path else key
            if key not in value:
                found.setdefault(within)
            elif inner(of):
                _left_out(value[key], of, within, found)
