"""Golden files of every format, the steps between formats, and the schema as DEVELOPERS.md prints it."""

import json
from typing import Any

import pytest

from app.files.migrations import FORMAT, STEPS, migrated
from app.files.project_file import dumps, load, loads
from tests.support.project_docs import DEVELOPERS, GOLDEN, block, schema_text
from tests.support.projects import compact, every_class

AGAIN = "the schema changed: see DEVELOPERS.md, Project file"


def test_every_format_has_a_golden_file_and_a_step_to_the_next() -> None:
    files = sorted(path.name for path in GOLDEN.iterdir())
    assert files == sorted(f"format-{n}.blankwright" for n in range(1, FORMAT + 1))
    assert sorted(STEPS) == list(range(1, FORMAT))


@pytest.mark.parametrize("written", range(1, FORMAT + 1))
def test_golden_file_opens_and_saves_as_the_newest_format(written: int) -> None:
    project = load(GOLDEN / f"format-{written}.blankwright")
    assert project.name == "Every class"
    assert json.loads(dumps(project))["format"] == FORMAT
    assert loads(dumps(project)) == project


def test_newest_golden_file_is_what_is_written_today() -> None:
    path = GOLDEN / f"format-{FORMAT}.blankwright"
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
