"""Caps of what the program reads of its own: held at the limit, one clear line one over it; all documented.

Those of foreign files are tried in `tests/corpus/hostile` and beside each reader.
"""

import struct
import zlib
from dataclasses import replace
from pathlib import Path

import msgspec
import pytest

from app.files import journal as journal_module
from app.files import schema
from app.files.caps import CAPS, table
from app.files.journal import State, newest, pending
from app.files.project_file import ProjectFileError, dumps, loads
from app.files.readers import roadmap_file
from app.files.readers.answer import ReadError
from app.files.readers.read import SUFFIXES
from app.files.readers.roadmap_file import read_cells
from app.project import roadmap_rows
from app.project.project import Project
from app.project.roadmap_rows import read_table
from geometry.shape.section import Vertex
from tests.support.project_docs import DEVELOPERS, block
from tests.support.whole_projects import compact


def test_documentation_lists_the_caps_in_use() -> None:
    assert block("caps", DEVELOPERS.read_text("utf-8")) == table(), "run python -m tests.support.project_docs"


def test_every_kind_of_file_that_is_read_has_its_caps() -> None:
    listed = " ".join(cap.what for cap in CAPS).lower()
    words = {".txt": "text tables", ".tsv": "text tables", ".dat": "text tables", ".xyz": "text tables"}
    words |= {".asc": "text tables", ".stp": "step"}
    missing = [suffix for suffix in SUFFIXES if words.get(suffix, suffix[1:]) not in listed]
    assert missing == []
    assert all(cap.size and cap.count and cap.depth and cap.time for cap in CAPS)


def long_wheel(count: int) -> Project:
    wheel = compact().wheels[0]
    vertices = tuple(Vertex(float(k), 40.0) for k in range(count))
    return replace(compact(), wheels=(replace(wheel, vertices=vertices),))


def test_a_list_of_a_project(monkeypatch: pytest.MonkeyPatch) -> None:
    data, one_over = dumps(long_wheel(50)), dumps(long_wheel(51))
    monkeypatch.setattr(schema, "PROJECT_ITEMS", 50)
    assert len(loads(data).wheels[0].vertices) == 50
    message = r"wheels\[0\]\.vertices holds 51; at most 50 are read: thin it out"
    with pytest.raises(ProjectFileError, match=message):
        loads(one_over)
    with pytest.raises(ProjectFileError, match=message):  # what could not be opened again is not written
        dumps(long_wheel(51))


def record(number: int) -> bytes:
    state = State(replace(compact(), revision=str(number)), f"Step {number}", number, 1000.0)
    return journal_module._record(state, number)


def test_a_journal_is_read_from_its_end(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tmp_path / "20260101-000000-1-00000000"
    folder.mkdir()
    last = record(2)
    (folder / "journal").write_bytes(record(1) + last)
    monkeypatch.setattr(journal_module, "LARGEST_READ", len(last))
    (left,) = pending(tmp_path)
    assert left.state is not None
    assert (left.state.words, left.trouble) == ("Step 2", "")
    monkeypatch.setattr(journal_module, "LARGEST_READ", len(last) - 1)
    (left,) = pending(tmp_path)
    assert left.state is None
    assert "was moved aside" in left.trouble


def test_a_record_that_unpacks_to_too_much_is_passed_over(monkeypatch: pytest.MonkeyPatch) -> None:
    head = struct.Struct("<4sQI")
    data = record(1)
    size = len(zlib.decompress(data[head.size :]))
    monkeypatch.setattr(journal_module, "LARGEST_BYTES", size)
    assert newest(data)[0] is not None
    monkeypatch.setattr(journal_module, "LARGEST_BYTES", size - 1)
    state, trouble = newest(data)
    assert state is None
    assert trouble.startswith("the last change cannot be read")
    # 2 MB that hold 2 GB: refused without unpacking them.
    monkeypatch.undo()
    packer = zlib.compressobj(9)
    bomb = packer.compress(msgspec.msgpack.encode({"number": 1})) + b"".join(
        packer.compress(bytes(1 << 22)) for _ in range(64)
    )
    bomb += packer.flush()
    assert newest(head.pack(b"BWJ1", len(bomb), zlib.crc32(bomb)) + bomb)[0] is None


def test_the_text_of_a_roadmap(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "roadmap.csv"
    path.write_text("Name\nR-1\n")
    monkeypatch.setattr(roadmap_file, "ROADMAP_BYTES", path.stat().st_size)
    assert read_cells(path).rows == [["Name"], ["R-1"]]
    path.write_text("Name\nR-12\n")
    with pytest.raises(ReadError, match="the file is larger than"):
        read_cells(path)


def test_the_rows_of_a_roadmap(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(roadmap_rows, "MOST_ROWS", 3)
    grid = [["Name"], ["a"], ["b"], ["c"]]
    assert len(read_table(grid, Project("p")).rows) == 3
    over = read_table([*grid, ["d"]], Project("p"))
    assert over.rows == ()
    assert [p.words for p in over.problems] == ["the table has 4 rows; 3 at most are read: part it"]
