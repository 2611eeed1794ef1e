"""The commands as a person calls them: exit codes, one line for bad input, JSON as documented."""

from __future__ import annotations

import json
import math
import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from app.cli.check import as_text
from app.cli.command_line import main
from app.files.migrations import FORMAT
from app.files.project_file import load, open_file
from app.project.project import Project
from app.project.size_text import parse_size
from app.project.wheel import SizeCode
from app.resources import sample
from app.studies.fit import measure_wheel
from app.units import UnitsError
from tests.support.drawings import dxf, polyline
from tests.support.project_docs import golden

OWN, BOUGHT = sample("1-track-18-own-blank"), sample("2-track-18-bought-blank")


def lines(capsys: pytest.CaptureFixture[str]) -> tuple[str, str]:
    shown = capsys.readouterr()
    return shown.out, shown.err


def test_check_prints_json_with_the_documented_keys(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(OWN), "--json"]) == 0
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    assert found["format"] == 1
    assert found["state"] == "clear"
    (wheel,) = found["wheels"]
    assert wheel["wheel"] == "Track 18"
    assert wheel["faults"] == []
    gap = wheel["gap"][0]
    contract = {
        "shape", "zone", "least_mm", "error_mm", "radial_mm", "axial_mm", "required_mm", "spare_mm", "state",
        "at_wheel", "at_shape", "grade", "rule", "acts_on",
    }  # fmt: skip
    assert contract <= set(gap)
    assert gap["acts_on"] == "paper"
    assert {"zone", "least_mm", "gauge_mm", "required_mm", "spare_mm", "state", "at"} <= set(wheel["wall"][0])
    assert {"zone", "side", "least_mm", "required_mm", "spare_mm", "state", "at"} <= set(wheel["stock"][0])
    solid = {"volume_mm3", "mass_kg", "centre_z_mm", "polar_kg_mm2", "diametral_kg_mm2"}
    assert solid <= set(wheel["solid"])
    assert {"name", "mass_kg", "chips_kg", "mass_ratio"} <= set(wheel["blank"])


def test_check_exits_1_when_a_rule_is_missed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(BOUGHT)]) == 1
    assert "short" in capsys.readouterr().out


def text_of(project: Project, **changes: Any) -> str:
    """Return the text of a project's first wheel with these changes, in the unit of the project."""
    return as_text(project, (replace(project.wheels[0], **changes),))


def test_missing_metal_is_said_as_area_and_volume() -> None:
    """Sample 2 does not fit its bought blank."""
    project = load(BOUGHT)
    wheel = project.wheels[0]
    found = measure_wheel(project, wheel).measurements
    assert found is not None
    assert found.blank is not None
    assert min(row.least_mm for row in found.stock) < 0.0
    (line,) = [x for x in text_of(project).splitlines() if "missing metal" in x]
    shown = re.fullmatch(
        r"  missing metal: about ([\d.]+) mm² of the section, about ([\d.]+) cm³ of the wheel", line
    )
    assert shown is not None, line
    assert float(shown[1]) == pytest.approx(found.blank.missing_mm2, abs=0.05)
    assert float(shown[2]) * 1000.0 == pytest.approx(found.blank.missing_mm3, abs=50.0)
    # Pappus: the area turned about the axle, at a radius that lies on the wheel.
    radius = found.blank.missing_mm3 / found.blank.missing_mm2 / (2.0 * math.pi)
    assert 30.0 < radius < 260.0
    assert " in² of the section" in text_of(replace(project, display_unit="in"))


def test_no_metal_is_missing_where_all_stock_is_there() -> None:
    assert "missing metal" not in text_of(load(OWN))


def test_a_hub_reading_that_is_not_clear_says_why() -> None:
    project = load(OWN)
    hub = project.wheels[0].hub
    assert "  hub: " not in text_of(project)
    loose = replace(hub, bore_mm=hub.bore_mm, spigot_mm=hub.bore_mm - 1.0)
    said = text_of(project, hub=loose)
    assert "  hub: Bore over spigot, diameter: Over 0.2 mm it does not centre without a ring.\n" in said
    assert "  hub: " not in text_of(project, hub=replace(loose, hub_ring=True))


def test_the_worst_state_is_judged_by_its_own_part_of_each_rule() -> None:
    project = load(OWN)
    values = {g.worst_mm for g in project.rule_sets[0].gap}
    rows = [x.split("  ") for x in text_of(project).splitlines() if x.startswith("  worst  ")]
    needed = [[float(cell) for cell in row if re.fullmatch(r" *\d+\.\d\d", cell)][1] for row in rows]
    assert needed
    assert set(needed) <= values
    assert "No conditions" in text_of(project, conditions=None)


def test_only_the_named_wheels(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(OWN), "--wheel", "Track 18", "--json"]) == 0
    assert len(json.loads(capsys.readouterr().out)["wheels"]) == 1
    assert main(["check", str(OWN), "--wheel", "Track 19"]) == 2
    out, err = lines(capsys)
    assert out == ""
    assert err == "blankwright: no wheel 'Track 19' in the project; it holds 'Track 18'\n"


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda data: data[: len(data) // 2], "whole project file"),
        (lambda data: data.replace(b'"format": %d' % FORMAT, b'"format": 99'), "99|format"),
        (lambda data: b"PK\x03\x04" + data, "JSON|text|project"),
        (lambda data: data.replace(b"38.0", b"39.0", 1), "edited outside"),
        (lambda data: b"", "empty|JSON|project"),
    ],
)
def test_a_damaged_project_is_one_line_and_exit_2(
    change: Any, words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "p.blankwright"
    path.write_bytes(change(OWN.read_bytes()))
    before = path.read_bytes()
    assert main(["check", str(path)]) == 2
    out, err = lines(capsys)
    assert out == ""
    assert err.count("\n") == 1
    assert err.startswith("blankwright: ")
    assert any(word in err for word in words.split("|")), err
    assert path.read_bytes() == before


def test_an_edited_file_opens_with_ignore_digest_and_says_so(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "p.blankwright"
    path.write_bytes(OWN.read_bytes().replace(b'"revision": "A"', b'"revision": "B"'))
    assert main(["check", str(path)]) == 2
    assert "The option --ignore-digest opens it as it is." in capsys.readouterr().err
    assert main(["check", str(path), "--ignore-digest"]) == 0
    assert "digest was not checked" in capsys.readouterr().err


def test_a_missing_file_and_a_folder(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for path in (tmp_path / "none.blankwright", tmp_path):
        assert main(["check", str(path)]) == 2
        assert capsys.readouterr().err.count("\n") == 1


def test_report_is_written_and_its_exit_code_says_whether_it_is_stamped(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "r.pdf"
    assert main(["report", str(OWN), "--wheel", "Track 18", "--out", str(out)]) == 0
    first = out.read_bytes()
    assert first.startswith(b"%PDF-")
    assert main(["report", str(OWN), "--wheel", "Track 18", "--out", str(out)]) == 0
    assert out.read_bytes() == first
    assert main(["report", str(BOUGHT), "--wheel", "Track 18", "--out", str(out)]) == 1
    assert "not for release" in capsys.readouterr().err
    assert out.read_bytes().startswith(b"%PDF-")


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["report", str(OWN), "--wheel", "Track 18", "--out", "r.txt"], "ends in .pdf"),
        (["report", str(OWN), "--wheel", "Track 18", "--shape", "None", "--out", "r.pdf"], "None"),
        (["export", str(OWN), "--wheel", "Track 18", "--out", "r.stl"], "'.stl'"),
        (["export", str(OWN), "--wheel", "Track 18", "--out", "no/such/folder/r.dxf"], "folder"),
        (["wheel", "none.dxf", "--size", "18 x 10 J", "--inset", "38", "--out", "o.blankwright"], "none.dxf"),
        (["wheel", "none.dxf", "--size", "eighteen", "--inset", "38", "--out", "o.blankwright"], "size code"),
        (["wheel", "none.dxf", "--size", "18 x 10 J", "--inset", "9**9", "--out", "o.blankwright"], "9**9"),
    ],
)
def test_bad_input_is_one_line(
    arguments: list[str],
    words: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(arguments) == 2
    out, err = lines(capsys)
    assert out == ""
    assert err.count("\n") == 1
    assert words in err
    assert list(tmp_path.iterdir()) == []


def test_a_section_goes_out_as_dxf_and_comes_back_as_a_wheel(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    drawing, project = tmp_path / "t.dxf", tmp_path / "p.blankwright"
    assert main(["export", str(OWN), "--wheel", "Track 18", "--out", str(drawing)]) == 0
    back = ["--size", "18 x 10 J", "--inset", "38", "--layer", "WHEEL", "--out", str(project)]
    assert main(["wheel", str(drawing), *back]) == 0
    assert "outer bead-seat diameter: 462.00 mm" in capsys.readouterr().out
    assert main(["wheel", str(drawing), *back, "--name", "Second"]) == 0
    capsys.readouterr()
    main(["check", str(project), "--json"])
    again = json.loads(capsys.readouterr().out)["wheels"]
    main(["check", str(OWN), "--json"])
    (first,) = json.loads(capsys.readouterr().out)["wheels"]
    assert [w["wheel"] for w in again] == ["t", "Second"]
    assert again[0]["solid"]["full_mass_kg"] == pytest.approx(first["solid"]["full_mass_kg"], rel=1e-9)


def test_a_drawing_without_a_unit_is_no_wheel_until_it_is_said(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    drawing, out = tmp_path / "t.csv", tmp_path / "o.blankwright"
    main(["export", str(OWN), "--wheel", "Track 18", "--out", str(drawing)])
    drawing.write_text(drawing.read_text().replace("z_mm,r_mm", "z,r"))
    back = ["wheel", str(drawing), "--size", "18 x 10 J", "--inset", "38", "--out", str(out)]
    assert main(back) == 2
    assert "does not state its unit; say which with --unit mm or --unit in" in capsys.readouterr().err
    assert not out.exists()
    assert main([*back, "--unit", "mm"]) == 0


def test_a_drawing_whose_unit_makes_no_plausible_size_is_refused_with_that_reason(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """DXF: $INSUNITS 1 is inches; 120 of them lie 3 m from the axle."""
    drawing, out = tmp_path / "t.dxf", tmp_path / "o.blankwright"
    drawing.write_bytes(dxf(polyline((0, 100), (10, 100), (10, 120)), unit=1))
    assert main(["wheel", str(drawing), "--size", "18 x 10 J", "--inset", "38", "--out", str(out)]) == 2
    said = capsys.readouterr().err
    assert "with the unit taken as in the outline reaches 3048 mm from the origin" in said
    assert "say which with --unit mm or --unit in" in said
    assert "does not state its unit" not in said
    assert not out.exists()


def test_csv_export_is_exact_rows(tmp_path: Path) -> None:
    out = tmp_path / "t.csv"
    assert main(["export", str(OWN), "--wheel", "Track 18", "--out", str(out)]) == 0
    head, *rows = out.read_text().splitlines()
    assert head == "z_mm,r_mm,bulge"
    assert len(rows) > 40
    assert all(len(row.split(",")) == 3 for row in rows)


def test_commands_load_no_qt() -> None:
    code = (
        "import sys; from app.cli.command_line import main; "
        f"main(['check', {str(OWN)!r}]); sys.exit(any('PySide6' in m for m in sys.modules))"
    )
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, check=False).returncode == 0


@pytest.mark.parametrize(
    ("text", "size"),
    [
        ("18 x 10 J", SizeCode(18, 10)),
        ("17x8,5J", SizeCode(17, 8.5)),
        ("18 X 9 1/2 j", SizeCode(18, 9.5)),
        ("19 x 12", SizeCode(19, 12)),
        ("13 x 5.5 B", SizeCode(13, 5.5, "B")),
    ],
)
def test_size_codes_as_people_type_them(text: str, size: SizeCode) -> None:
    assert parse_size(text) == size


@pytest.mark.parametrize("text", ["", "18", "18 x", "x 10", "18 x 10 J 5", "a x b"])
def test_other_texts_are_no_size_code(text: str) -> None:
    with pytest.raises(UnitsError):
        parse_size(text)


def test_an_older_file_is_converted_with_a_list_on_standard_error(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    old = tmp_path / "old.blankwright"
    old.write_bytes(golden(9).read_bytes())
    assert main(["roadmap", str(old)]) == 0
    out, err = lines(capsys)
    assert out
    said = [f"blankwright: {words}" for words in open_file(old).changes]
    assert len(said) == FORMAT - 9 + 1  # each raise since, and what has starting values
    assert err.splitlines()[1:] == said
    assert err.startswith(f"blankwright: The file has format 9; saving writes {FORMAT}")
    assert old.read_bytes() == golden(9).read_bytes()
