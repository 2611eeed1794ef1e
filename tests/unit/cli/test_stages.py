"""`blankwright stages` as a person types it: text, JSON, drawings read back, and what is refused."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import pypdf
import pytest
from ezdxf.filemanagement import readfile

from app.cli.command_line import main
from app.files.project_file import save
from app.files.readers.answer import Request
from app.files.readers.dxf import read_dxf
from app.project.caution import CAUTION
from app.studies.stages import StageSettings, follow
from geometry.forging.arcs import OFF_MM
from geometry.forging.stages import Route, StageName
from tests.support import example
from tests.support.apart import apart


@pytest.fixture
def project(tmp_path: Path) -> Path:
    path = tmp_path / "track.blankwright"
    save(example.roomy()[0], path)
    return path


def run(*words: str | Path) -> int:
    return main(["stages", *map(str, words)])


def test_text_has_a_line_for_each_stage(project: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(project, "--wheel", example.WHEEL, "--rough", "2", "--pierced", "40") in (0, 1)
    said = capsys.readouterr().out
    for name in StageName:
        assert (f"\n  {name} " in said) == (name is not StageName.SPUN)
    assert "soft jaws bored to diameter" in said
    assert "thickest place" in said
    assert "T652" in said
    assert CAUTION in said


def test_rough_turning_that_cuts_nothing_is_told(project: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(project, "--wheel", example.WHEEL, "--rough", "90") == 1
    assert "rough turned: nothing is cut: the part has nowhere more than the 90.00" in capsys.readouterr().out
    run(project, "--wheel", example.WHEEL, "--rough", "2")
    assert "nothing is cut" not in capsys.readouterr().out


def test_json_is_the_study(project: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code = run(project, "--wheel", example.WHEEL, "--movement", "0.8", "--first", "street", "--json")
    found = follow(
        example.roomy()[0], example.WHEEL, StageSettings(Route(finishing_mm=0.8, brake_first=False), 0.8)
    )
    values = json.loads(capsys.readouterr().out)
    assert code == (1 if found.warnings else 0)
    assert [stage["name"] for stage in values["stages"]] == [stage.name for stage in found.stages]
    for stage, read in zip(values["stages"], found.stages, strict=True):
        assert stage["outline"] == [list(row) for row in read.path.rows()]
        assert stage["mass_kg"] == read.mass_kg
        assert (stage["least"] is None) == (stage["name"] == "finished")
    assert values["settings"]["finishing_mm"] == values["settings"]["movement_mm"] == 0.8
    assert "from memory" in values["settings"]["sources"]["movement_mm"]
    assert values["treated"]["thickest_mm"] == found.treated.thickest_mm


def test_every_drawing_reads_back_as_its_stage(project: Path, tmp_path: Path) -> None:
    """By ezdxf and by the program's own reader, within the error that is stated for the outline."""
    folder = tmp_path / "lathe"
    run(project, "--wheel", example.WHEEL, "--rough", "2", "--dxf", folder)
    found = follow(example.roomy()[0], example.WHEEL, StageSettings(Route(rough_mm=2.0)))
    files = sorted(folder.iterdir())
    assert [file.stem[2:] for file in files] == [stage.name for stage in found.stages]
    for file, stage in zip(files, found.stages, strict=True):
        rows = stage.path.rows()
        document = readfile(file)
        assert document.header["$INSUNITS"] == 4
        polyline: Any
        (polyline,) = document.modelspace().query(f'LWPOLYLINE[layer=="STAGE {stage.name}"]')
        assert polyline.closed
        assert apart(rows, polyline.get_points("xyb")) < OFF_MM
        layers = {layer.dxf.name: layer.dxf.linetype for layer in document.layers}
        assert ("WHEEL" in layers) == (stage.name != "finished")
        assert layers.get("WHEEL", "CHAINDOT") == "CHAINDOT"
        assert layers[f"STAGE {stage.name}"] == "CONTINUOUS"
        notes = [text.dxf.text for text in document.modelspace().query("TEXT")]
        assert any(note.startswith("datum: ") for note in notes) == (stage.holding is not None)
        assert ("GRIP" in layers) == (stage.holding is not None and stage.holding.grip is not None)
        assert CAUTION.split(":")[0] in " ".join(notes)
        request = Request(suffix=".dxf", layers=(f"STAGE {stage.name}",))
        read = read_dxf(file.read_bytes(), request, "")
        assert read.unit == "mm"
        assert len(read.loops) == 1
        assert apart(rows, read.loops[0]) < OFF_MM


def test_pages_hold_every_stage(project: Path, tmp_path: Path) -> None:
    out = tmp_path / "stages.pdf"
    run(project, "--wheel", example.WHEEL, "--rough", "2", "--pdf", out)
    found = follow(example.roomy()[0], example.WHEEL, StageSettings(Route(rough_mm=2.0)))
    pages = [page.extract_text() for page in pypdf.PdfReader(out).pages]
    for number, stage in enumerate(found.stages, start=1):
        (page,) = (text for text in pages if f"{number} {stage.name}: " in text)
        assert f"{stage.mass_kg:.2f} kg" in page
        if stage.holding is not None and stage.holding.jaws is not None:
            assert f"{stage.holding.jaws.near_mm:.2f}" in page
    assert CAUTION.split(":")[0] in " ".join(pages)
    assert run(project, "--wheel", example.WHEEL, "--pdf", tmp_path / "stages.txt") == 2


def test_one_stage_into_one_file(project: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "second.dxf"
    run(project, "--wheel", example.WHEEL, "--dxf", out, "--stage", "second side", "--json")
    values = json.loads(capsys.readouterr().out)
    assert [stage["name"] for stage in values["stages"]] == ["second side"]
    polyline: Any
    (polyline,) = readfile(out).modelspace().query('LWPOLYLINE[layer=="STAGE second side"]')
    bulges = [math.degrees(4.0 * math.atan(row[2])) for row in polyline.get_points("xyb") if row[2]]
    assert len(bulges) > 20
    assert len(polyline) < 120


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--rough", "-1"], "rough stock is -1 mm"),
        (["--rough", "0.5"], "must be more than the finishing stock"),
        (["--finishing", "many"], "many"),
        (["--dxf", "all.dxf"], "name its --stage"),
        (["--stage", "pierced"], "There is no stage 'pierced'"),
        (["--pierced", "90"], "takes metal of the wheel"),
    ],
)
def test_bad_input_is_one_line(
    project: Path, capsys: pytest.CaptureFixture[str], words: list[str], said: str
) -> None:
    assert run(project, "--wheel", example.WHEEL, *words) == 2
    error = capsys.readouterr().err
    assert error.count("\n") == 1
    assert said in error


def test_a_folder_that_is_a_file_is_refused(
    project: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "taken").write_text("x")
    assert run(project, "--wheel", example.WHEEL, "--dxf", tmp_path / "taken") == 2
    assert "cannot be a folder" in capsys.readouterr().err


def test_the_note_on_movement_follows_the_unit(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """0.3 and 1.0 mm over 25.4 are 0.0118 and 0.0394 in."""
    path = tmp_path / "inch.blankwright"
    save(replace(example.roomy()[0], display_unit="in"), path)
    assert run(path, "--wheel", example.WHEEL) in (0, 1)
    said = capsys.readouterr().out
    assert "goes oval by 0.012 in to 0.039 in (from memory)" in said
    assert "mm" not in said.split("nothing to look at")[-1]
