"""The table of pairs for others: no name is a formula of a spreadsheet."""

from __future__ import annotations

import csv
import io
from dataclasses import replace

from app.files.project_file import load
from app.resources import samples
from app.studies.match import as_csv, match


def test_a_name_that_looks_like_a_formula_is_guarded() -> None:
    project = load(samples()[0])
    told = replace(project, wheels=(replace(project.wheels[0], name="=1+1"),))
    rows = list(csv.DictReader(io.StringIO(as_csv(match(told)))))
    assert rows
    assert {row["wheel"] for row in rows} == {"'=1+1"}
