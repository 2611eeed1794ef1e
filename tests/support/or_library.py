"""Instances of OR-Library as die programmes; formats and optima: ../shared/benchmarks/SOURCES.md."""

import os
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from app.studies.programme.inputs import Limits, Mode, Option, Programme, Row

FOLDER = Path(
    os.environ.get(
        "BLANKWRIGHT_BENCHMARKS", Path(__file__).resolve().parents[2].parent / "shared" / "benchmarks"
    )
)


def tokens(name: str) -> Iterator[float]:
    """The numbers of a file, or a skip where it is missing."""
    path = FOLDER / f"{name}.txt"
    if not path.is_file():
        pytest.skip("the planning benchmarks (folder BLANKWRIGHT_BENCHMARKS) are not there")
    return map(float, path.read_text(encoding="ascii").split())


def facility_location(name: str) -> Programme:
    """An uncapacitated `cap` instance: sites are dies, customers are rows of one wheel."""
    read = tokens(name)
    sites, customers = int(next(read)), int(next(read))
    fixed = []
    for _ in range(sites):
        next(read)
        fixed.append(next(read))
    rows = []
    for j in range(customers):
        next(read)
        costs = {f"{i + 1:03}": next(read) for i in range(sites)}
        rows.append(Row(f"{j:03}", {0: 1.0}, (Mode(costs),)))
    return Programme(tuple(rows), tuple(Option(f"{i + 1:03}", fixed=f) for i, f in enumerate(fixed)))


def set_cover(name: str) -> Programme:
    """An `scp` instance: columns are dies at their cost, rows are served by any at no more."""
    read = tokens(name)
    rows, columns = int(next(read)), int(next(read))
    cost = [next(read) for _ in range(columns)]
    covered = []
    for i in range(rows):
        by = [int(next(read)) for _ in range(int(next(read)))]
        covered.append(Row(f"{i:03}", {0: 1.0}, (Mode({f"{j:04}": 0.0 for j in by}),)))
    return Programme(tuple(covered), tuple(Option(f"{j + 1:04}", fixed=c) for j, c in enumerate(cost)))


def p_median(name: str) -> Programme:
    """A `pmed` instance: vertices are rows and free dies, at most p; the last of repeated edges counts."""
    read = tokens(name)
    vertices, edges, most = int(next(read)), int(next(read)), int(next(read))
    far = np.full((vertices, vertices), np.inf)
    np.fill_diagonal(far, 0.0)
    for _ in range(edges):
        i, j = int(next(read)) - 1, int(next(read)) - 1
        far[i, j] = far[j, i] = next(read)
    for k in range(vertices):  # Floyd and Warshall
        far = np.minimum(far, far[:, k : k + 1] + far[k : k + 1, :])
    names = [f"{i + 1:03}" for i in range(vertices)]
    rows = tuple(
        Row(name, {0: 1.0}, (Mode(dict(zip(names, map(float, far[i]), strict=True))),))
        for i, name in enumerate(names)
    )
    return Programme(rows, tuple(map(Option, names)), limits=Limits(most_dies=most))
