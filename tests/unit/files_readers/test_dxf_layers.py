"""Layers by their whole names: what a reading hands out can be asked for again, alone and together."""

from __future__ import annotations

import io
from collections import Counter
from itertools import combinations
from pathlib import Path

import ezdxf
import pytest

from app.files.project_file import load
from app.files.readers.answer import ReadError, plain
from app.files.readers.limits import NAME_CHARACTERS
from app.files.readers.read import read_outline
from app.reports.outputs import export_section
from app.resources import sample
from tests.support.drawings import dxf, lines, read_dxf

BOX = ((10.0, 100.0), (40.0, 100.0), (40.0, 130.0), (10.0, 130.0))
LOOSE = {"HUB FACE", "AXLE LINE"}


@pytest.fixture(scope="module")
def exported(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Our own drawing of sample 3, whose shapes have long names."""
    out = tmp_path_factory.mktemp("export") / "sample 3.dxf"
    project = load(sample("3-gt-19-touching"))
    export_section(project, project.wheels[0], out)
    return out


@pytest.fixture(scope="module")
def closed(exported: Path) -> Counter[str]:
    """Closed outlines on each layer, as the reference library ezdxf counts them."""
    space = ezdxf.read(io.StringIO(exported.read_text("utf-8"))).modelspace()  # type: ignore[attr-defined]
    return Counter(str(entity.dxf.layer) for entity in space.query("LWPOLYLINE"))


def test_every_layer_of_our_own_drawing_is_named_whole(exported: Path, closed: Counter[str]) -> None:
    found = read_outline(exported)
    assert set(found.layers) == {*closed, *LOOSE}
    assert any(len(name) > NAME_CHARACTERS for name in found.layers)


def test_every_closed_layer_is_read_alone(exported: Path, closed: Counter[str]) -> None:
    data = exported.read_bytes()
    for name, count in closed.items():
        found = read_dxf(data, layers=(name,))
        assert len(found.loops_mm()) == count, name
        assert set(found.layers) == {*closed, *LOOSE}
        assert found.skipped["on other layers"] == sum(found.layers.values()) - found.layers[name]


def test_any_two_and_all_but_one_are_read_together(exported: Path, closed: Counter[str]) -> None:
    data = exported.read_bytes()
    every = tuple(read_dxf(data).layers)
    wanted = [*combinations(every, 2), *combinations(every, len(every) - 1)]
    for names in wanted:
        count = sum(closed[name] for name in names)
        if count:
            assert len(read_dxf(data, layers=names).loops) == count, names


def test_a_layer_of_loose_lines_alone_is_no_outline(exported: Path) -> None:
    for name in LOOSE:
        with pytest.raises(ReadError, match=r"open|no closed outline"):
            read_dxf(exported.read_bytes(), layers=(name,)).loops_mm()


def test_the_long_names_reach_the_reader_in_its_own_process(exported: Path) -> None:
    every = tuple(read_outline(exported).layers)
    asked = tuple(name for name in every if name != "AXLE LINE")
    found = read_outline(exported, layers=asked)
    assert found.skipped["on other layers"] == found.layers["AXLE LINE"]
    assert found.loops == read_dxf(exported.read_bytes(), layers=asked).loops


def test_a_message_still_clips_the_name() -> None:
    long = "brake " * 20
    with pytest.raises(ReadError) as said:
        read_dxf(dxf(lines(*BOX, layer=long.strip())), layers=("none",))
    assert plain(long.strip()) in str(said.value)
    assert long.strip() not in str(said.value)


def test_half_a_pair_in_a_name_crosses_the_process_boundary(tmp_path: Path) -> None:
    """Code points D800 to DFFF are no characters (Unicode 15, section 3.9) and no valid JSON text."""
    path = tmp_path / "odd.dxf"
    path.write_bytes(dxf(lines(*BOX, layer=r"A\U+D83DB")))
    (name,) = read_outline(path).layers
    assert read_outline(path, layers=(name,)).layers == {name: 4}
