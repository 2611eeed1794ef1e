"""`blankwright wheel FOLDER`: every drawing with one size, or with its own, and the two lists at the end."""

from __future__ import annotations

from pathlib import Path

import pytest

from app.cli.command_line import main
from app.files.project_file import load
from app.project.new_items import new_wheel
from app.project.wheel import SizeCode
from geometry.shape.section import Outline, build
from tests.support.drawings import dxf, polyline

SIZE_18, SIZE_17 = SizeCode(18.0, 10.0), SizeCode(17.0, 8.0)


def drawing(size: SizeCode, inset_mm: float, shift: float = 0.0, unit: int | None = 4) -> bytes:
    """A half-section as DXF; its mounting face lies at z = `shift`."""
    outline = build(new_wheel("x", size, inset_mm).section)
    assert isinstance(outline, Outline)
    return dxf(polyline(*((z + shift, r, b) for z, r, b in outline.path.rows())), unit=unit)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Two sound wheels of one size, one of another inset, one of another size, and a damaged file."""
    path = tmp_path / "drawings"
    path.mkdir()
    (path / "a.dxf").write_bytes(drawing(SIZE_18, 38.0))
    (path / "B.DXF").write_bytes(drawing(SIZE_18, 38.0, shift=50.0))
    (path / "c.dxf").write_bytes(drawing(SIZE_18, 30.0))
    (path / "d.dxf").write_bytes(drawing(SIZE_17, 35.0))
    (path / "e.dxf").write_bytes(drawing(SIZE_18, 38.0)[:400])
    (path / "notes.txt").write_text("not a drawing")
    return path


class Said:
    """What a run printed, taken apart."""

    def __init__(self, captured: pytest.CaptureFixture[str]) -> None:
        self.out, self.err = captured.readouterr()
        body, _, unread = self.out.partition("\ncould not be read: ")
        body, _, looks = body.partition("\nneeds a look: ")
        self.body = body
        self.looks, self.unread = looks.splitlines()[1:], unread.splitlines()[1:]


def run(folder: Path, *more: str) -> int:
    return main(["wheel", str(folder), "--out", str(folder.parent / "p.blankwright"), *more])


def wheels(folder: Path) -> dict[str, tuple[float, SizeCode]]:
    project = load(folder.parent / "p.blankwright")
    return {w.name: (round(w.inset_mm, 6), w.size) for w in project.wheels}


SAME = ("--size", "18 x 10 J", "--inset", "38")


def test_one_size_for_all_and_the_lists_at_the_end(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(folder, *SAME) == 0
    said = Said(capsys)
    taken = wheels(folder)
    assert list(taken)[:3] == ["a", "B", "c"]
    # The drawn inset is kept, and that it is not the stated one is said.
    assert taken["c"] == (30.0, SIZE_18)
    (inset,) = [line for line in said.looks if line.startswith("  c.dxf: ")]
    assert "30.00 in the drawing and 38 as stated" in inset
    assert not [line for line in said.looks if line.startswith(("  a.dxf", "  B.DXF"))]
    assert [line.split(":")[0].strip() for line in said.unread][-1] == "e.dxf"
    assert said.unread[-1].count("e.dxf") == 1
    assert "notes.txt" not in said.out
    assert "B.DXF: wheel 'B', 18 x 10 J, added to" in said.body
    assert said.err == ""


def test_the_list_gives_each_drawing_its_own(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "wheels.csv").write_text(
        "file;size;inset_mm;face_z_mm\nB.DXF;;38,0;50\nc.dxf;;30;\nd.dxf;17 x 8 J;35;\nlost.dxf;;;\n"
    )
    assert run(folder, *SAME) == 0
    said = Said(capsys)
    assert wheels(folder) == {
        "a": (38.0, SIZE_18),
        "B": (38.0, SIZE_18),
        "c": (30.0, SIZE_18),
        "d": (35.0, SIZE_17),
    }
    assert not [line for line in said.looks if "as stated" in line]
    assert [line.split(":")[0].strip() for line in said.unread] == ["e.dxf", "lost.dxf"]
    assert "no such drawing" in said.unread[1]


def test_the_face_of_the_list_is_used(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """No flat hub face lies at z = 47: the inset then follows from that z, and this is said."""
    (folder / "wheels.csv").write_text("file,face_z_mm\nB.DXF,47\n")
    assert run(folder, *SAME) == 0
    assert any(line.startswith("  B.DXF: ") for line in Said(capsys).looks)


def test_without_size_only_listed_drawings_are_taken(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "wheels.csv").write_text("\ufefffile,size,inset_mm\nd.dxf,17 x 8 J,35\n", "utf-8")
    assert run(folder) == 0
    said = Said(capsys)
    assert wheels(folder) == {"d": (35.0, SIZE_17)}
    assert "  a.dxf: no size is stated for it; give --size, or a row in wheels.csv" in said.unread
    assert len(said.unread) == 4


def test_a_wrong_cell_fails_its_own_drawing_only(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "wheels.csv").write_text("file,size,inset_mm\na.dxf,eighteen,38\nc.dxf,18 x 10 J,9**9\n")
    assert run(folder, *SAME) == 0
    said = Said(capsys)
    assert any(line.startswith("  a.dxf: ") and "size code" in line for line in said.unread)
    assert any(line.startswith("  c.dxf: ") and "9**9" in line for line in said.unread)


def test_nothing_taken_is_exit_2_and_leaves_the_project(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for name in ("a.dxf", "B.DXF", "c.dxf", "d.dxf"):
        (folder / name).unlink()
    assert run(folder, *SAME) == 2
    said = Said(capsys)
    assert said.unread[0].startswith("  e.dxf: ")
    assert said.err.count("\n") == 1
    assert not (folder.parent / "p.blankwright").exists()


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("name,size\na.dxf,18 x 10 J\n", "its first row has name, size"),
        ("file,inset_mm\na.dxf,38,5\n", "row 2 has 3 cells for 2 columns"),
        ("file\na.dxf\na.dxf\n", "row 3 names 'a.dxf' a second time"),
        ("file,size\n,18 x 10 J\n", "row 2 names no file"),
        ("", "its first row has nothing"),
    ],
)
def test_a_list_that_is_none_is_one_line_and_exit_2(
    text: str, words: str, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / "wheels.csv").write_text(text)
    assert run(folder, *SAME) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 1
    assert words in err
    assert not (folder.parent / "p.blankwright").exists()


def test_an_empty_folder_and_a_name_for_many_are_refused(
    tmp_path: Path, folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    empty = tmp_path / "empty"
    empty.mkdir()
    assert run(empty, *SAME) == 2
    assert "no drawing in this folder" in capsys.readouterr().err
    assert run(folder, *SAME, "--name", "One") == 2
    assert "--name is of one wheel" in capsys.readouterr().err


def test_a_single_drawing_still_needs_size_and_inset(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(folder / "a.dxf", "--inset", "38") == 2
    assert "--size is missing" in capsys.readouterr().err
    assert run(folder / "a.dxf", "--size", "18 x 10 J") == 2
    assert "--inset is missing" in capsys.readouterr().err


def test_help_tells_of_the_folder_and_its_list(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main(["wheel", "--help"])
    said = " ".join(capsys.readouterr().out.split())
    assert "FILE|FOLDER" in said
    assert "wheels.csv in the folder (columns file, size, inset_mm, face_z_mm)" in said
