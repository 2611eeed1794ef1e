"""Golden files of every format, the steps between formats, and the schema as DEVELOPERS.md prints it."""

import json
import re
from pathlib import Path
from typing import Any

import pytest

from app.files import conversion
from app.files.conversion import left_out
from app.files.kept import kept_states, save_over
from app.files.migrations import FORMAT, STEPS, migrated
from app.files.on_disk import digest
from app.files.project_file import ProjectFileError, dumps, load, loads, open_file, opened
from tests.support.project_docs import (
    DEVELOPERS,
    GOLDEN,
    KEYS,
    Known,
    block,
    golden,
    keys_of,
    keys_today,
    schema_text,
)
from tests.support.whole_projects import compact, every_class, signed

AGAIN = "the schema changed: see DEVELOPERS.md, Project file"


def test_every_format_has_a_golden_file_and_a_step_to_the_next() -> None:
    files = sorted(path.name for path in GOLDEN.iterdir())
    assert files == sorted(f"format-{n}.blankwright" for n in range(1, FORMAT + 1))
    assert sorted(STEPS) == list(range(1, FORMAT))


def _met(value: Any, classes: tuple[str, ...], known: Known, found: Known) -> None:
    """Gather the keys of a tree by the class that each object is, as the format knew the classes."""
    if isinstance(value, list):
        for item in value:
            _met(item, classes, known, found)
    elif isinstance(value, dict) and classes:
        cls = max(classes, key=lambda c: len(known[c].keys() & value.keys()))
        for key, item in value.items():
            found.setdefault(cls, {})[key] = known[cls].get(key, ("not known",))
            _met(item, known[cls].get(key, ()), known, found)


@pytest.mark.parametrize("written", range(1, FORMAT + 1))
def test_golden_file_holds_every_class_and_key_that_its_format_knew(written: int) -> None:
    tree = json.loads(golden(written).read_bytes())
    del tree["sha256"], tree["format"]
    found: Known = {}
    _met(tree, ("Project",), keys_of(written), found)
    assert found == keys_of(written)


def test_keys_by_format_end_in_the_schema_of_today() -> None:
    assert keys_of(FORMAT) == keys_today(), AGAIN
    lines = KEYS.read_text("utf-8").splitlines()
    since = [int(line.split()[0]) for line in lines]
    assert since == sorted(since)
    assert set(since) == set(range(1, FORMAT + 1))


@pytest.mark.parametrize("written", range(1, FORMAT + 1))
def test_golden_file_opens_and_saves_as_the_newest_format(written: int, tmp_path: Path) -> None:
    old = golden(written)
    project = load(old)
    assert project.name == "Every class"
    path, state = tmp_path / "old.blankwright", tmp_path / "state"
    path.write_bytes(old.read_bytes())
    save_over(project, path, state)
    assert json.loads(path.read_bytes())["format"] == FORMAT
    assert load(path) == project
    assert opened(path.read_bytes()).changes == ()
    # What an older program wrote stays, byte for byte.
    kept = [each.path.read_bytes() for each in kept_states(path, state)]
    assert kept == ([] if written == FORMAT else [old.read_bytes()])


@pytest.mark.parametrize("written", range(1, FORMAT + 1))
def test_what_the_golden_file_says_is_what_is_opened(written: int) -> None:
    """Each number and word of the old text is in the new one, at the same path."""

    def leaves(value: Any, path: str) -> dict[str, Any]:
        if isinstance(value, dict | list) and value:
            items = value.items() if isinstance(value, dict) else enumerate(value)
            return {k: v for key, item in items for k, v in leaves(item, f"{path}/{key}").items()}
        return {path: value}

    old = leaves(json.loads(golden(written).read_bytes()), "")
    new = leaves(json.loads(dumps(load(golden(written)))), "")
    moved = {path for path, value in old.items() if new.get(path, "gone") != value}
    assert moved <= {"/sha256", "/format"}
    assert len(old) > 150


@pytest.mark.parametrize("written", range(1, FORMAT + 1))
def test_opening_lists_what_the_conversion_means(written: int) -> None:
    found = open_file(golden(written))
    assert found.written == written
    said = [words for n, (_, words) in conversion.SAID.items() if n > written]
    if written == FORMAT:
        assert found.changes == ()
        return
    # The golden file of each format holds parts of every kind, so that nothing goes without saying.
    listed = [words for words in found.changes if not words.startswith("Starting values")]
    assert set(listed) <= set(said)
    assert len(listed) >= len(said) - (written < 8)  # tests are recorded from format 8 on
    new = {(c, f) for c, held in keys_today().items() for f in held if f not in keys_of(written).get(c, {})}
    shown = set(re.findall(r"\w+", found.changes[-1]))
    assert {f for c, f in new if c in keys_of(written)} <= shown


def test_every_raise_of_the_format_says_what_it_means() -> None:
    assert sorted(conversion.SAID) == list(range(2, FORMAT + 1))
    fields = {field for holders, _ in conversion.SAID.values() for field in holders}
    assert fields <= keys_today()["Project"].keys()


def test_a_part_that_is_not_there_is_not_spoken_of() -> None:
    tree = {"name": "x", "shapes": [], "wheels": []}
    assert [w for w in conversion.changes(tree, 1) if not w.startswith("Starting values")] == []
    assert "shapes" not in left_out(tree)
    assert "blanks" in left_out(tree)


@pytest.mark.parametrize("written", range(1, FORMAT + 1))
@pytest.mark.parametrize(
    ("old", "new", "path"),
    [
        (b' "name": "Every class"', b' "name": "Every class", "unheard": 1', "unheard"),
        (b'"density_kg_m3"', b'"density"', "materials[0].density"),
    ],
)
def test_key_that_no_format_knew_is_refused_in_every_format(
    written: int, old: bytes, new: bytes, path: str
) -> None:
    body = golden(written).read_bytes().split(b"\n", 1)[1].replace(old, new, 1)
    with pytest.raises(ProjectFileError) as caught:
        loads(signed(body))
    assert any(error.startswith(f"{path} is not a key") for error in caught.value.errors)


def test_notes_of_the_oldest_format_are_kept_as_they_are() -> None:
    tree = json.loads(golden(1).read_bytes())
    notes = {"by": ["me", 1, 2.5, None, {"deep": "\u00fc"}]}
    for part in (tree, tree["wheels"][0], tree["shapes"][0], tree["blanks"][0]):
        part["notes"] = notes
    project = loads(json.dumps(tree).encode(), ignore_digest=True)
    again = loads(dumps(project))
    assert [p.notes for p in (again, again.wheels[0], again.shapes[0], again.blanks[0])] == [notes] * 4


def test_newer_file_is_left_as_it_is_byte_for_byte(tmp_path: Path) -> None:
    path = tmp_path / "newer.blankwright"
    newer = signed(dumps(compact()).split(b"\n", 1)[1].replace(b'"format": %d' % FORMAT, b'"format": 99'))
    path.write_bytes(newer)
    before = path.stat()
    with pytest.raises(ProjectFileError, match=f"has format 99 and this program reads up to {FORMAT}"):
        open_file(path)
    assert path.read_bytes() == newer
    assert (path.stat().st_mtime_ns, path.stat().st_ino) == (before.st_mtime_ns, before.st_ino)


def test_what_cannot_be_kept_first_is_not_replaced(tmp_path: Path) -> None:
    path, state = tmp_path / "old.blankwright", tmp_path / "state"
    path.write_bytes(golden(2).read_bytes())
    state.write_bytes(b"no folder")
    with pytest.raises(ProjectFileError, match="has an older format and cannot be kept before"):
        save_over(load(path), path, state)
    assert digest(path.read_bytes()) == digest(golden(2).read_bytes())


def test_newest_golden_file_is_what_is_written_today() -> None:
    path = golden(FORMAT)
    assert load(path) == every_class(), AGAIN
    assert path.read_bytes() == dumps(every_class()), AGAIN


def test_steps_are_taken_in_order_from_the_written_format_to_the_newest() -> None:
    def step(n: int) -> Any:
        return lambda tree: {**tree, "taken": [*tree["taken"], n]}

    steps = {n: step(n) for n in (1, 2, 3)}
    tree: dict[str, Any] = {"taken": []}
    assert migrated(tree, 2, steps, newest=4) == {"taken": [2, 3]}
    assert migrated(tree, 1, steps, newest=4) == {"taken": [1, 2, 3]}
    assert migrated(tree, 4, steps, newest=4) == tree == {"taken": []}


def test_schema_in_the_documentation_is_the_one_in_use() -> None:
    assert block("schema", DEVELOPERS.read_text("utf-8")) == schema_text(), AGAIN


def test_example_in_the_documentation_opens() -> None:
    assert loads(block("example", DEVELOPERS.read_text("utf-8")).encode()) == compact(), AGAIN
