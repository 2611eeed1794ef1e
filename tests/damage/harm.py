"""A project file with one bit flipped or its end cut off, and what must hold of how it is read."""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field

from app.files.project_file import EditedOutside, NewerFormat, ProjectFileError, dumps, loads
from app.files.salvage import salvage
from app.project.project import Project

#: How a reading ended: refused, or offered as edited outside; anything else is amiss.
REFUSED, OFFERED, SALVAGED, NOTHING = "refused", "offered", "recovered in part", "nothing to recover"

#: A read that takes longer is amiss (processor time).
MOST_S = 0.05


@dataclass
class Tally:
    """What came of all readings.

    Attributes:
        ends: how many ended in which way.
        slowest_s: of one read, processor time.
        amiss: what must not be, in words.
    """

    ends: Counter[str] = field(default_factory=Counter)
    slowest_s: float = 0.0
    slow: int = 0
    amiss: list[str] = field(default_factory=list)


def cut(data: bytes, step: int) -> Iterator[tuple[str, bytes]]:
    """Yield the file cut after every `step`-th byte."""
    for length in range(0, len(data), step):
        yield f"cut after {length} bytes", data[:length]


def flipped(data: bytes, step: int) -> Iterator[tuple[str, bytes]]:
    """Yield the file with every `step`-th bit flipped."""
    for bit in range(0, 8 * len(data), step):
        changed = bytearray(data)
        changed[bit // 8] ^= 1 << bit % 8
        yield f"bit {bit} flipped", bytes(changed)


def read(what: str, data: bytes, tally: Tally) -> None:
    """Open a damaged file as the program does, and count how that ends."""
    begun = time.process_time()
    try:
        loads(data)
        tally.amiss.append(f"{what}: opened without a word")
        end = "opened"
    except EditedOutside:
        end = OFFERED
    except ProjectFileError as error:
        end = REFUSED
        if "\n" in str(error):
            tally.amiss.append(f"{what}: the reason is not one line")
    except Exception as error:
        tally.amiss.append(f"{what}: {type(error).__name__}: {error}")
        end = "raised"
    seconds = time.process_time() - begun
    tally.ends[end] += 1
    tally.slowest_s = max(tally.slowest_s, seconds)
    tally.slow += seconds > MOST_S


def recover(what: str, data: bytes, whole: Project, tally: Tally) -> None:
    """Recover a damaged file as on request, and look for what would mislead."""
    try:
        found = salvage(data)
    except NewerFormat:
        tally.ends[NOTHING] += 1
        return
    except ProjectFileError:
        tally.ends[NOTHING] += 1
        return
    except Exception as error:
        tally.amiss.append(f"{what}: recovering: {type(error).__name__}: {error}")
        return
    tally.ends[SALVAGED] += 1
    try:
        tally.amiss.extend(f"{what}: {words}" for words in misleading(found.project, whole, bool(found.lost)))
    except ProjectFileError as error:
        tally.amiss.append(f"{what}: recovered, but cannot be saved: {error}")


def misleading(project: Project, whole: Project, is_less: bool) -> Iterator[str]:
    """Yield what of a recovered project could read clear, or was lost without being said."""
    if loads(dumps(project)) != project:
        yield "it is not the same after saving"
    shapes = {shape.name: shape for shape in project.shapes}
    for name, shape in shapes.items():
        if len(shape.open_questions()) < 5:
            yield f"questions of the shape {name!r} count as answered"
    before = {wheel.name: wheel for wheel in whole.wheels}
    for wheel in project.wheels:
        old = before.get(wheel.name)
        if old is not None and not is_less and len(wheel.clears) < len(old.clears):
            yield f"{wheel.name!r} clears less, and nothing is said"
        if is_less and not wheel.clears:
            yield f"{wheel.name!r} clears nothing"
    counts = [
        (len(getattr(project, of)), len(getattr(whole, of)), of)
        for of in ("wheels", "blanks", "shapes", "rule_sets", "conditions", "fitments", "test_records")
    ]
    for there, were, of in counts:
        if there < were and not is_less:
            yield f"of {were} {of} {there} are left, and nothing is said"
    if any(record.drawing for record in project.test_records):
        yield "a recorded test counts for a drawing"
