"""What a kill left on the disk, held against the diary of the process that was killed."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from app.files.atomic import sweep
from app.files.hold import HeldError, Hold
from app.files.journal import pending
from app.files.kept import MOST_STATES, kept_states
from app.files.project_file import ProjectFileError, load
from tests.kills.diary import UNDER_WAY, Kind, Note, content
from tests.kills.life import FILE
from tests.support import example

#: An edit that was committed this long ago must outlive a kill.
SAFE_S = 1.0


@dataclass
class Verdict:
    """What came of a kill.

    Attributes:
        found: content that is gone on with: the newest that the next start can give.
        saved: content of the project file, None where there is none.
        lost: committed edits, undo and redo included, that are nowhere; oldest_s: age of the oldest of them.
        edits: that were committed. under_way: what was being done. torn: whether a record was cut short.
        troubles: what must never be.
    """

    found: int
    saved: int | None
    lost: int = 0
    oldest_s: float = 0.0
    edits: int = 0
    under_way: tuple[str, ...] = ()
    torn: bool = False
    troubles: list[str] = field(default_factory=list)


def judge(folder: Path, diary: list[Note], killed_at: float, before: Verdict | None) -> Verdict:
    """Return what a kill at `killed_at` (monotonic clock, s) left, after what the life before had left."""
    troubles: list[str] = []
    saved = _saved(folder, diary, before, troubles)
    left = pending(folder / "journals")
    states = [each.state for each in left if each.state is not None]
    if len(states) < len(left):
        troubles.append(f"a journal cannot be read: {[each.trouble for each in left]}")
    there = [content(state.project) for state in states]
    there.append(saved if saved is not None else content(example.project()))
    # Notes of what was found at the start, of each edit begun, and of each edit done.
    first = Note(Kind.EDITED, before.found if before else content(example.project()), float("-inf"))
    steps = [first, *(note for note in diary if note.kind in (Kind.EDIT, Kind.EDITED))]
    places = {note.content: k for k, note in enumerate(steps)}
    known = [each for each in there if each in places]
    if not known:
        troubles.append("what is left is no state that ever was")
    found = max(known, key=lambda each: places[each]) if known else there[0]
    lost = [note for note in steps[places.get(found, -1) + 1 :] if note.kind is Kind.EDITED]
    oldest_s = killed_at - lost[0].at if lost else 0.0
    if oldest_s > SAFE_S:
        troubles.append(f"{len(lost)} edits are lost, the first committed {oldest_s:.2f} s before the kill")
    return Verdict(
        found=found,
        saved=saved,
        lost=len(lost),
        oldest_s=oldest_s,
        edits=sum(note.kind is Kind.EDITED for note in diary),
        under_way=_under_way(diary),
        torn=any(each.state is not None and each.trouble for each in left),
        troubles=troubles,
    )


def _saved(folder: Path, diary: list[Note], before: Verdict | None, troubles: list[str]) -> int | None:
    """Return the content of the project file; it is that saved last, or the one being saved."""
    path = folder / FILE
    may_be: list[int | None] = [before.saved if before else None]
    for note in diary:
        if note.kind is Kind.SAVE:
            may_be.append(note.content)
        if note.kind is Kind.SAVED:
            may_be = [note.content]
    try:
        saved = content(load(path)) if path.exists() else None
        for kept in kept_states(path, folder):
            load(kept.path)
    except ProjectFileError as error:
        troubles.append(f"a file cannot be read: {error}")
        return None
    if saved not in may_be:
        troubles.append("the project file is neither the one before nor the one being saved")
    if len(kept_states(path, folder)) > MOST_STATES + 1:
        troubles.append("more states are kept than should be")
    try:
        Hold(path).release()
    except HeldError:
        troubles.append("the file is still held by the process that was killed")
    for each in (folder, *(file.parent for file in folder.glob("**/.blankwright-*.tmp"))):
        sweep(each)
    if list(folder.glob("**/.blankwright-*.tmp")):
        troubles.append("a temporary file is left")
    return saved


def _under_way(diary: list[Note]) -> tuple[str, ...]:
    words = []
    for begun, (done, word) in UNDER_WAY.items():
        last = next((note.kind for note in reversed(diary) if note.kind in (begun, done)), done)
        if last is begun:
            words.append(word)
    return tuple(words)
