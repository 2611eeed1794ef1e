"""The command that reads an arriving outline: what it says, refuses and writes."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any

import pytest
import shapely

from app.entry import main
from app.files.project_file import load
from geometry.shape.outline import Grade, Known, outline_path
from tests.support.drawings import arc, dxf, lines, polyline

BOX = ((10.0, 100.0), (40.0, 100.0), (40.0, 130.0), (10.0, 130.0))


def put(folder: Path, data: bytes | str, name: str = "brake.dxf") -> Path:
    path = folder / name
    path.write_bytes(data if isinstance(data, bytes) else data.encode())
    return path


def said(capsys: pytest.CaptureFixture[str], *arguments: str | Path) -> tuple[int, str, str]:
    code = main(["outline", *map(str, arguments)])
    out, err = capsys.readouterr()
    return code, out, err


def as_json(capsys: pytest.CaptureFixture[str], *arguments: str | Path) -> dict[str, Any]:
    code, out, err = said(capsys, *arguments, "--json")
    assert (code, err) == (0, "")
    found: dict[str, Any] = json.loads(out)
    return found


def test_a_stated_unit_is_taken_and_every_question_but_the_unit_stays_open(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    found = as_json(capsys, put(tmp_path, dxf(lines(*BOX))))
    assert (found["format"], found["file"], found["kind"], found["unit"]) == (1, "brake.dxf", "drawing", "mm")
    assert (found["loops"], found["vertices"]) == (1, 4)
    assert found["bounds"] == {"z": [10.0, 40.0], "r": [100.0, 130.0]}
    assert len(found["open_questions"]) == 6
    assert not any("unit" in question for question in found["open_questions"])


def test_without_a_unit_both_sizes_are_said_and_the_option_is_named(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = put(tmp_path, dxf(lines((0.4, 4.0), (1.6, 4.0), (1.6, 5.2), (0.4, 5.2)), unit=None))
    code, out, err = said(capsys, file)
    assert code == 2
    assert "if mm: z 0.4 to 1.6, r 4.0 to 5.2 mm" in out
    assert "if in: z 10.2 to 40.6, r 101.6 to 132.1 mm" in out
    assert err.startswith("blankwright: brake.dxf: ")
    assert "--unit in" in err
    assert err.count("\n") == 1
    assert as_json(capsys, file, "--unit", "in")["bounds"]["r"] == pytest.approx([101.6, 132.08])


def test_an_open_outline_is_refused_with_its_gap_and_joined_when_allowed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = put(tmp_path, dxf(polyline(*BOX, (10.0, 100.2), closed=False)))
    code, _, err = said(capsys, file)
    assert code == 2
    assert "a gap of 0.2 mm" in err
    assert "--join 0.2" in err
    found = as_json(capsys, file, "--join", "0,25")
    assert (found["joined"], found["loops"]) == (1, 1)
    assert found["largest_join_mm"] == pytest.approx(0.2)


def test_half_a_drawing_is_completed_at_its_two_ends(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    half = polyline((25.0, 100.0), (40.0, 100.0), (40.0, 130.0), (25.0, 130.0), closed=False)
    found = as_json(capsys, put(tmp_path, dxf(half)), "--mirror")
    assert found["bounds"] == {"z": [10.0, 40.0], "r": [100.0, 130.0]}
    assert any("completed by its image" in warning for warning in found["warnings"])


def test_a_drawing_is_turned_flipped_and_moved_to_its_zero(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # Drawn with the axle upright: x is -r, y is z; its mounting face at y = 500, its axle line at x = 200.
    drawn = [(200.0 - r, 500.0 + z) for z, r in BOX]
    file = put(tmp_path, dxf(lines(*drawn)))
    found = as_json(capsys, file, "--turn", "270", "--origin=500,-200")
    assert found["bounds"]["z"] == pytest.approx([10.0, 40.0])
    assert found["bounds"]["r"] == pytest.approx([100.0, 130.0])


def test_below_the_axle_line_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = put(tmp_path, dxf(lines(*((z, r - 120.0) for z, r in BOX))))
    code, _, err = said(capsys, file)
    assert code == 2
    assert "below the axle line" in err
    assert as_json(capsys, file, "--origin", "0,-120")["bounds"]["r"] == pytest.approx([100.0, 130.0])


def test_a_drawing_far_off_its_origin_is_moved_by_its_origin(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    far = [(z + 250_000.0, r + 120_000.0) for z, r in BOX]
    file = put(tmp_path, dxf(lines(*far)))
    code, _, err = said(capsys, file, "--unit", "mm")
    assert code == 2
    assert "origin" in err
    found = as_json(capsys, file, "--unit", "mm", "--origin=250000,120000")
    assert found["bounds"] == {"z": [10.0, 40.0], "r": [100.0, 130.0]}


def test_inner_outlines_are_dropped_unless_they_are_asked_for(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    hole = lines((20.0, 110.0), (30.0, 110.0), (30.0, 120.0), (20.0, 120.0))
    file = put(tmp_path, dxf(lines(*BOX), hole))
    assert as_json(capsys, file)["loops"] == 1
    assert as_json(capsys, file, "--inner")["loops"] == 2
    code, out, _ = said(capsys, file)
    assert "1 of 2 outlines lie within another" in out
    assert code == 0


def test_a_table_holds_the_outline_on_its_outside(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    slot = lines((0.0, 100.0), (30.0, 100.0)) + arc(30.0, 115.0, 15.0, 270.0, 90.0)
    slot += "".join([lines((30.0, 130.0), (0.0, 130.0)), arc(0.0, 115.0, 15.0, 90.0, 270.0)])
    out = tmp_path / "brake.csv"
    code, _, err = said(capsys, put(tmp_path, dxf(slot)), "--out", out)
    assert (code, err) == (0, "")
    with out.open() as file:
        rows = list(csv.DictReader(file))
    written = shapely.Polygon([(float(row["z_mm"]), float(row["r_mm"])) for row in rows])
    # A capsule: a straight stretch of 30 with two half circles of radius 15 (shapely's own circle).
    true = shapely.LineString([(0.0, 115.0), (30.0, 115.0)]).buffer(15.0, quad_segs=4000)
    assert written.buffer(1e-5).contains(true)
    assert shapely.hausdorff_distance(written, true) < 0.0051


def test_a_project_takes_it_as_a_shape_with_an_open_card(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "new.blankwright"
    file = put(tmp_path, dxf(lines(*BOX), unit=None))
    code, _, err = said(capsys, file, "--unit", "mm", "--out", out, "--kind", "tie rod", "--grade", "proved")
    assert (code, err) == (0, "")
    (shape,) = load(out).shapes
    assert shape.name == "brake"
    assert shape.card.grade is Grade.DRAWING  # a drawing is no proof
    assert shape.card.unit.state is Known.ASSUMED
    assert shape.card.file_sha256
    assert len(shape.open_questions()) > 5
    path = outline_path(shape.outlines[0].corners)
    assert not isinstance(path, tuple)
    assert path.bounds == (10.0, 40.0, 100.0, 130.0)
    assert said(capsys, file, "--unit", "mm", "--out", out)[0] == 0
    assert [s.name for s in load(out).shapes] == ["brake", "brake 2"]


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["--loop", "7"], "there is no outline 7"),
        (["--body", "0"], "counted from 1"),
        (["--origin", "5"], "two numbers"),
        (["--layer", "nowhere"], "no lines on layer 'nowhere'"),
        (["--out", "x.pdf"], "written as .csv, or added to a .blankwright project"),
        (["--share", "0.1"], "no envelope"),
        (["--join", "NaN"], "NaN"),
    ],
)
def test_bad_options_are_one_line(
    arguments: list[str], says: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    code, _, err = said(capsys, put(tmp_path, dxf(lines(*BOX))), *arguments)
    assert code == 2
    assert says in err
    assert err.count("\n") == 1


def test_a_missing_file_is_one_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = said(capsys, tmp_path / "none.dxf")
    assert (code, out) == (2, "")
    assert "no such file" in err
