"""The hostile inputs are what they say they are; no reader takes part."""

import io
import re
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.corpus.hostile.inputs import (
    LIMIT_BYTES,
    LIMIT_ENTITIES,
    LIMIT_NESTING,
    LIMIT_POINTS,
    LIMIT_RATIO,
    LIMIT_TRIANGLES,
    LIMIT_UNPACKED,
    Hostile,
    inputs,
)
from tests.corpus.read_back import chain_path, distance_to_paths, drawn_paths

ALL = {item.name: item for item in inputs()}
LARGE = 90_000_000


def test_there_are_enough_and_each_has_its_name() -> None:
    names = [item.name for item in inputs()]
    assert len(names) == len(set(names)) >= 50
    harmless = [item for item in ALL.values() if item.refused is None]
    assert 5 <= len(harmless) < len(names) / 4
    assert {name.rpartition(".")[2] for name in names} >= {
        "dxf",
        "svg",
        "csv",
        "txt",
        "xyz",
        "stl",
        "obj",
        "ply",
        "3mf",
        "xlsx",
    }


@pytest.mark.parametrize("item", ALL.values(), ids=ALL)
def test_input_is_sound(item: Hostile) -> None:
    assert item.about.endswith(".")
    assert item.opens or item.refused
    if item.refused:
        re.compile(item.refused, re.IGNORECASE)


def unhurt() -> Iterator[Hostile]:
    yield from (item for item in ALL.values() if item.name != "triangles_2000001.stl")


@pytest.mark.long
def test_inputs_are_the_same_in_every_run() -> None:
    """All but the 100 MB one; zips depend on the packer, so two runs are compared and not bytes on disc."""
    for item in unhurt():
        content = item.make()
        assert isinstance(content, bytes)
        assert len(content) < LARGE
        if len(content) < 1_000_000:
            assert item.make() == content, item.name


@pytest.mark.parametrize(
    ("name", "pattern", "count"),
    [
        ("entities_50001.dxf", rb"\nLINE\n", LIMIT_ENTITIES + 1),
        ("entities_50000.dxf", rb"\n(LINE|TEXT)\n", LIMIT_ENTITIES),
        ("points_20001.dxf", rb"\n 10\n", LIMIT_POINTS + 1),
        ("points_20000.dxf", rb"\n 10\n", LIMIT_POINTS),
        ("nesting_17.dxf", rb"\nBLOCK\n", LIMIT_NESTING + 1 + 2),
        ("elements_50001.svg", rb"<circle", LIMIT_ENTITIES + 1),
        ("groups_100000_deep.svg", rb"<g>", 100_000),
        ("path_of_20000.svg", rb"[ML]-?[\d.]+,", LIMIT_POINTS),
        ("ten_million_commas.csv", rb",", 10_000_000),
        ("million_points.xyz", rb"\n", 1_000_000),
    ],
)
def test_counts_hold(name: str, pattern: bytes, count: int) -> None:
    """Two blocks of a later DXF are model and paper space; its block heads have a place of their own."""
    content = ALL[name].make()
    if name.startswith("points"):
        content = content[content.index(b"LWPOLYLINE") :]
    assert len(re.findall(pattern, content)) == count


@pytest.mark.parametrize("kind", LIMIT_BYTES)
def test_one_byte_over_the_limit(kind: str) -> None:
    item = next(i for i in ALL.values() if i.name.startswith("weighs") and i.name.endswith(kind))
    assert (item.size or len(item.make())) == LIMIT_BYTES[kind] + 1


def test_too_many_triangles_are_one_too_many() -> None:
    content = ALL["triangles_2000001.stl"].make()
    assert len(content) == 84 + 50 * (LIMIT_TRIANGLES + 1)


@pytest.mark.parametrize(
    "name",
    [
        pytest.param(n, marks=[pytest.mark.long] if n == "entities_50000.dxf" else [])
        for n in ALL
        if n.endswith(".dxf") and ALL[n].outline
    ],
)
def test_harmless_drawings_hold_their_outline(name: str, tmp_path: Path) -> None:
    (tmp_path / name).write_bytes(ALL[name].make())
    outline = ALL[name].outline
    assert outline
    paths = drawn_paths(tmp_path / name, ())
    assert (
        distance_to_paths(chain_path(outline, step_mm=0.5)[:: 1 + len(outline) // 200], paths).max() < 0.002
    )


def unpacked_size(content: bytes) -> tuple[int, float]:
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        size = sum(entry.file_size for entry in archive.infolist())
    return size, size / len(content)


def test_packages_are_as_large_inside_as_they_say() -> None:
    for name in ("ratio_1000.3mf", "ratio_1000.xlsx"):
        size, ratio = unpacked_size(ALL[name].make())
        assert ratio > LIMIT_RATIO
        assert size < LIMIT_UNPACKED
    with zipfile.ZipFile(io.BytesIO(ALL["unpacked_300_mb_and_1.3mf"].make())) as archive:
        entry = archive.getinfo("3D/3dmodel.model")
        assert entry.file_size == LIMIT_UNPACKED + 1
        assert entry.file_size / entry.compress_size < LIMIT_RATIO
    with zipfile.ZipFile(io.BytesIO(ALL["lies_about_size.3mf"].make())) as archive:
        assert archive.getinfo("3D/3dmodel.model").file_size == 1000


def test_marked_as_encrypted() -> None:
    with zipfile.ZipFile(io.BytesIO(ALL["encrypted.3mf"].make())) as archive:
        assert all(entry.flag_bits & 1 for entry in archive.infolist())
        with pytest.raises(RuntimeError, match="encrypted"):
            archive.read("3D/3dmodel.model")
