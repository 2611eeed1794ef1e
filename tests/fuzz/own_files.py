"""What the program itself reads, fuzzed: projects, damaged ones on request, journals, roadmaps, formulas."""

from __future__ import annotations

import csv
import hashlib
import io
import re
import struct
import zlib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path
from random import Random

from app.files import journal
from app.files.atomic import SaveError
from app.files.journal import State, newest
from app.files.migrations import FORMAT
from app.files.project_file import ProjectFileError, dumps, loads
from app.files.readers.answer import ReadError
from app.files.readers.roadmap_file import decoded, grid_of
from app.files.salvage import salvage
from app.files.writers.roadmap import roadmap_csv
from app.project import demo_roadmap
from app.project.project import Project
from app.project.roadmap_rows import read_table
from tests.damage.harm import misleading
from tests.fuzz.holds import of_message
from tests.fuzz.mutate import BYTES, NUMBERS, TEXT, number, with_numbers
from tests.support import formulas

#: Named like the suffixes of foreign files, so that inputs are made and kept alike.
PROJECT, DAMAGED, JOURNAL, ROADMAP = ".blankwright", ".damaged", ".journal", ".roadmap"
FORMULA = ".formula"
OWN = (PROJECT, DAMAGED, JOURNAL, ROADMAP, FORMULA)

GOLDEN = Path(__file__).parents[1] / "unit" / "files_project" / "golden"

_HEAD = struct.Struct("<4sQI")


# Where they start from


@cache
def own_seeds() -> Mapping[str, tuple[tuple[bytes, ...], tuple[bytes, ...]]]:
    """Return for each kind whole files, smallest first, and none meant to do harm."""
    files = [path.read_bytes() for path in GOLDEN.iterdir()]
    small = dumps(_small())
    projects = tuple(sorted([small, *files], key=len))
    rows = demo_roadmap.fitments()
    tables = tuple(
        roadmap_csv(rows[:count]).replace(b",", mark) if mark != b"," else roadmap_csv(rows[:count])
        for count, mark in ((1, b","), (2, b";"), (4, b"\t"), (8, b","))
    )
    return {
        PROJECT: (projects, ()),
        DAMAGED: (projects, ()),
        JOURNAL: (tuple(_records(count) for count in (1, 2, 3)), ()),
        ROADMAP: (tables, ()),
        FORMULA: ((b"12,5 m kg", b"3.5 + 4", b"wall + 1/2 in", b"min(a; 12,5 mm)^2 / a"), ()),
    }


@cache
def _small() -> Project:
    whole = loads((GOLDEN / f"format-{FORMAT}.blankwright").read_bytes())
    wheel = replace(whole.wheels[1], blank=None, rules=None, conditions=None)
    return Project("Small", wheels=(wheel,), shapes=whole.shapes, materials=whole.materials[:1])


def _records(count: int) -> bytes:
    states = (State(_small(), f"Step {k}", k, 1000.0 + k, Path("/w/a.blankwright")) for k in range(count))
    return b"".join(journal._record(state, k) for k, state in enumerate(states))


# Harm

_SCALAR = re.compile(rb'-?[0-9][0-9.eE+-]*|"(?:[^"\\\n]|\\.)*"|true|false|null|[\[\]{}:,]')
_TOKENS = tuple(
    b'null|true|false|[]|{}|""|-0.0|1e308|1e400|NaN|-Infinity|9223372036854775808|"\\ud800"|'
    b'"\\u0000"|[[1.0]]|{"a": 1}|"name"|[|]|{|}|,|:|"Caliper 380"|"with the knuckle"|-1|0'.split(b"|")
)


def json_text(data: bytes, rng: Random, other: bytes) -> bytes:
    """Change values, keys, lines and parts of a project file; sign it again in most cases."""
    first, _, body = data.partition(b"\n")
    kind = rng.random()
    if kind < 0.35:
        spans = [m.span() for m in _SCALAR.finditer(body)]
        for start, end in sorted(rng.sample(spans, min(len(spans), rng.randint(1, 3))), reverse=True):
            a, b = rng.choice(spans)
            new = rng.choice((rng.choice(_TOKENS), body[a:b]))
            body = body[:start] + new + body[end:]
    elif kind < 0.6:
        body = with_numbers(body, rng, 3, hostile=0.15)
    elif kind < 0.8:
        lines = body.split(b"\n")
        a, b = rng.randrange(len(lines)), rng.randrange(len(lines))
        how = rng.randrange(3)
        if how == 0:
            del lines[a : a + rng.randint(1, 30)]
        elif how == 1:
            lines[a:a] = lines[b : b + rng.randint(1, 30)]
        else:
            lines[a], lines[b] = lines[b], lines[a]
        body = b"\n".join(lines)
    else:
        body = rng.choice((*BYTES, *TEXT))(body, rng, other.partition(b"\n")[2])
    return resigned(first, body) if rng.random() < 0.8 else first + b"\n" + body


def resigned(first: bytes, body: bytes) -> bytes:
    """Return a file with the digest that belongs to its text."""
    return b'{"sha256": "%s",\n%s' % (hashlib.sha256(body).hexdigest().encode(), body)


def packed(data: bytes, rng: Random, other: bytes) -> bytes:
    """Change what a record of a journal holds, its head, or its bytes."""
    if rng.random() < 0.4 or len(data) < _HEAD.size or not data.startswith(b"BWJ1"):
        return rng.choice(BYTES)(data, rng, other)
    mark, length, crc = _HEAD.unpack_from(data)
    rest = data[_HEAD.size + length :] if length < len(data) else b""
    if rng.random() < 0.2:
        length = rng.choice((0, 1, length - 1 if length else 0, length + 1, 2**31, 2**63, 2**64 - 1))
        return _HEAD.pack(mark, length % 2**64, crc) + data[_HEAD.size :]
    try:
        held = zlib.decompress(data[_HEAD.size : _HEAD.size + length])
    except zlib.error:
        return rng.choice(BYTES)(data, rng, other)
    for _ in range(rng.randint(1, 3)):
        held = rng.choice(BYTES)(held, rng, held)
    payload = zlib.compress(held, 1)
    return rest + _HEAD.pack(mark, len(payload), zlib.crc32(payload)) + payload


def cells(data: bytes, rng: Random, other: bytes) -> bytes:
    """Change cells and heads of a table."""
    try:
        rows = list(csv.reader(io.StringIO(data.decode("utf-8-sig"))))
    except (UnicodeDecodeError, csv.Error):
        return rng.choice(TEXT)(data, rng, other)
    for _ in range(rng.randint(1, 5)):
        row = rng.choice(rows) if rows else []
        if row:
            another = rng.choice(rng.choice(rows) or [""])
            new = (rng.choice(NUMBERS), number(rng).decode("utf-8", "replace"), another)
            row[rng.randrange(len(row))] = rng.choice(new)
    if rows and rng.random() < 0.2:
        rng.shuffle(rows[0])
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerows(rows)
    return text.getvalue().encode()


def formula(data: bytes, rng: Random, other: bytes) -> bytes:
    """Return a formula, sound for the most part, or one that is changed."""
    if rng.random() < 0.7:
        return formulas.text(rng).encode("utf-8", "surrogatepass")
    return rng.choice((*BYTES, *TEXT))(data, rng, other)


OWN_HARM: Mapping[str, Callable[[bytes, Random, bytes], bytes]] = {
    PROJECT: json_text,
    DAMAGED: json_text,
    JOURNAL: packed,
    ROADMAP: cells,
    FORMULA: formula,
}


# Reading, and what must hold of it; each returns whether it was read, and the message where it was not


def own_read(data: bytes, suffix: str) -> tuple[bool, str, list[str]]:
    """Read one of the program's own files; return whether it was read, what was said, and what is wrong."""
    return _READ[suffix](data)


def _project(data: bytes) -> tuple[bool, str, list[str]]:
    try:
        loads(data)
    except ProjectFileError as error:
        refused: str = str(error)
    else:
        refused = ""
    try:
        found = loads(data, ignore_digest=True)
    except ProjectFileError as error:
        if not refused:
            return False, "", ["read with its digest, and not without"]
        return False, str(error), [*of_message(str(error)[:500]), *_lines(error.errors)]
    return True, "", list(_same(found))


def _damaged(data: bytes) -> tuple[bool, str, list[str]]:
    try:
        found = salvage(data)
    except ProjectFileError as error:
        return False, str(error), list(of_message(str(error)[:500]))
    wrong = list(misleading(found.project, found.project, is_less=bool(found.lost)))
    return True, "", [*wrong, *_same(found.project), *_lines(found.lines)]


def _journal(data: bytes) -> tuple[bool, str, list[str]]:
    state, trouble = newest(data)
    if state is None:
        return False, trouble, [*([] if trouble else ["nothing was read, and nothing is said"])]
    # A journal may hold what no file may: a number that is not finite is a fault that the user sees.
    return True, "", []


def _roadmap(data: bytes) -> tuple[bool, str, list[str]]:
    try:
        table = read_table(grid_of(decoded(data)), _small())
    except ReadError as error:
        return False, str(error), list(of_message(str(error)))
    wrong = [w for problem in table.problems for w in of_message(problem.words[:500])]
    return not table.problems, table.problems[0].words if table.problems else "", wrong


def _formula(data: bytes) -> tuple[bool, str, list[str]]:
    words = data.decode("utf-8", "surrogateescape")
    unit = ("mm", "in", "deg", "")[len(words) % 4]
    try:
        is_read = formulas.tried(words, unit) == "value"
    except AssertionError as error:
        return False, words, [f"not finite, or at no place of the text: {error}"]
    return is_read, "" if is_read else words, []


def _same(project: Project) -> Iterator[str]:
    try:
        if loads(dumps(project)) != project:
            yield "it is not the same after saving"
    except (ProjectFileError, SaveError) as error:
        yield f"it was read, but cannot be saved: {error}"


def _lines(lines: tuple[str, ...]) -> Iterator[str]:
    if any("\n" in line for line in lines):
        yield "a line of the list has a break"


_READ: Mapping[str, Callable[[bytes], tuple[bool, str, list[str]]]] = {
    PROJECT: _project,
    DAMAGED: _damaged,
    JOURNAL: _journal,
    ROADMAP: _roadmap,
    FORMULA: _formula,
}
