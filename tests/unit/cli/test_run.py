"""Scripts: as a person runs them, with arguments, input, exit codes and errors; what app.api gives."""

from __future__ import annotations

import io
import json
import re
from dataclasses import replace
from pathlib import Path

import pypdf
import pytest

from app import api
from app.cli.run import FAILED
from app.entry import main
from app.project.edits import EditError
from app.resources import samples
from geometry.errors import GeometryError
from geometry.shape.held import Hold
from geometry.shape.section import Zone
from tests.support import example
from tests.support.drawings import dxf, polyline

ROOT = Path(__file__).resolve().parents[3]
SAMPLE = "1-track-18-own-blank"
WHEEL = "Track 18"


def put(folder: Path, text: str, name: str = "script.py") -> str:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return str(path)


@pytest.mark.parametrize("paper", ["README.md", "DEVELOPERS.md"])
def test_the_worked_examples_run_as_scripts_and_print_what_stands_there(
    paper: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    text = (ROOT / paper).read_text(encoding="utf-8")
    code, printed = re.findall(r"```python\n(.*?)^```\n\nprints\n\n```text\n(.*?)^```", text, re.S | re.M)[0]
    assert "from app import api" in code
    monkeypatch.chdir(ROOT)
    assert main(["run", put(tmp_path, code), str(tmp_path / "variant.blankwright")]) == 0
    assert capsys.readouterr().out == printed


def test_arguments_and_standard_input_reach_the_script(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("12.7 + 3\n"))
    script = put(
        tmp_path, "import sys\nfrom app import api\nprint(sys.argv[1:], api.length_mm(input()), __name__)\n"
    )
    assert main(["run", script, "--json", "a b"]) == 0
    assert capsys.readouterr().out == "['--json', 'a b'] 15.7 __main__\n"


def test_a_module_beside_the_script_is_found(tmp_path: Path) -> None:
    put(tmp_path, "VALUE = 5\n", "beside.py")
    assert main(["run", put(tmp_path, "import sys, beside\nsys.exit(beside.VALUE)\n")]) == 5


@pytest.mark.parametrize(
    ("code", "exit_code", "says"),
    [
        ("import sys\nsys.exit(4)\n", 4, ""),
        ("import sys\nsys.exit()\n", 0, ""),
        ("import sys\nsys.exit('no brake')\n", 1, "no brake\n"),
        ("x = 1\nx / 0\n", FAILED, "line 2: ZeroDivisionError: division by zero\n"),
        ("x = (1\n", FAILED, "line 1: SyntaxError: '(' was never closed\n"),
        ("from app import api\n\napi.open_project('none.blankwright')\n", FAILED, "line 3: ProjectFileError"),
    ],
)
def test_the_exit_code_is_the_scripts_and_an_error_is_one_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], code: str, exit_code: int, says: str
) -> None:
    script = put(tmp_path, code)
    assert main(["run", script]) == exit_code
    said = capsys.readouterr().err
    assert says in said
    assert said.count("\n") == (1 if says else 0)
    if exit_code == FAILED:
        assert said.startswith(f"blankwright: {script}, line ")


def test_the_traceback_is_there_for_the_asking(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["run", "--traceback", put(tmp_path, "1 / 0\n")]) == FAILED
    said = capsys.readouterr().err
    assert said.startswith("Traceback")
    assert said.splitlines()[-1].startswith("blankwright: ")


def test_a_script_that_is_not_there_is_bad_input(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["run", str(tmp_path / "none.py")]) == 2
    assert capsys.readouterr().err.count("\n") == 1


# app.api


@pytest.fixture(scope="module")
def project() -> api.Project:
    return api.open_sample(SAMPLE)


def test_readings_are_those_that_check_prints(
    project: api.Project, capsys: pytest.CaptureFixture[str]
) -> None:
    main(["check", str(samples()[0]), "--json"])
    entry = json.loads(capsys.readouterr().out)["wheels"][0]
    found = api.measure(project, WHEEL)
    assert str(found.state) == entry["state"]
    assert found.least_gap is not None
    assert found.least_spare is not None
    assert found.least_gap.least_mm == min(row["least_mm"] for row in entry["gap"])
    assert found.least_spare.spare_mm == min(r["spare_mm"] for r in entry["gap"] if r["spare_mm"] is not None)
    assert found.mass_kg == entry["solid"]["mass_kg"]


def test_one_vertex_moves_by_the_number_that_the_window_shows(project: api.Project) -> None:
    wheel = api.wheel(project, WHEEL)
    number = wheel.section.locked + 1
    moved = api.with_vertex(wheel, number, r=wheel.vertices[0].r + 0.5)
    assert moved.vertices[0].r == wheel.vertices[0].r + 0.5
    assert moved.vertices[1:] == wheel.vertices[1:]
    assert moved.vertices[0].z == wheel.vertices[0].z
    with pytest.raises(EditError, match="locked rim contour"):
        api.with_vertex(wheel, 1, z=0.0)
    with pytest.raises(EditError, match="no vertex 999"):
        api.with_vertex(wheel, 999, z=0.0)


def test_a_variant_is_saved_beside_its_model(project: api.Project, tmp_path: Path) -> None:
    variant = replace(api.with_inset(api.wheel(project, WHEEL), 40.0), name="Track 18, inset 40")
    both = api.with_wheel(project, variant)
    api.save(both, tmp_path / "both.blankwright")
    again = api.open_project(tmp_path / "both.blankwright")
    assert [w.name for w in again.wheels] == [*(w.name for w in project.wheels), variant.name]
    assert again == both


def test_a_brake_that_is_read_is_not_known_until_its_card_is_answered(
    project: api.Project, tmp_path: Path
) -> None:
    file = tmp_path / "brake.dxf"
    file.write_bytes(dxf(polyline((0.0, 60.0), (20.0, 60.0), (20.0, 120.0), (0.0, 120.0))))
    brake = api.read_brake(file, "Small block", kind="caliper")
    wheel = replace(api.wheel(project, WHEEL), clears=(brake.name,))
    found = api.measure(api.with_wheel(api.with_shape(project, brake), wheel), WHEEL)
    assert found.state == api.State.NOT_KNOWN
    assert found.least_gap is not None
    assert found.least_gap.shape == "Small block"
    assert found.least_gap.questions


def test_a_wheel_without_conditions_is_not_known(project: api.Project) -> None:
    wheel = replace(api.wheel(project, WHEEL), conditions=None)
    assert api.measure(api.with_wheel(project, wheel), WHEEL).state == api.State.NOT_KNOWN


def test_a_faulty_outline_has_no_readings(project: api.Project) -> None:
    wheel = api.wheel(project, WHEEL)
    crossing = api.with_vertex(wheel, wheel.section.locked + 2, z=wheel.vertices[1].z + 200.0)
    with pytest.raises(GeometryError, match="Track 18 has no readings"):
        api.measure(api.with_wheel(project, crossing), WHEEL)


def test_what_others_get_is_written(project: api.Project, tmp_path: Path) -> None:
    api.export(project, WHEEL, tmp_path / "wheel.csv")
    assert (tmp_path / "wheel.csv").read_text(encoding="utf-8").startswith("z")
    assert api.report(project, WHEEL, tmp_path / "wheel.pdf") == ""
    assert (tmp_path / "wheel.pdf").read_bytes().startswith(b"%PDF")


def test_a_report_is_written_in_another_language_and_answered_in_english(
    project: api.Project, tmp_path: Path
) -> None:
    stamped = api.with_wheel(project, replace(api.wheel(project, WHEEL), conditions=None))
    english = api.report(stamped, WHEEL, tmp_path / "en.pdf")
    assert api.report(stamped, WHEEL, tmp_path / "de.pdf", language="de") == english != ""
    said = {}
    for code in ("en", "de"):
        pages = pypdf.PdfReader(tmp_path / f"{code}.pdf").pages
        said[code] = " ".join(page.extract_text() for page in pages)
    assert "Section report" in said["en"]
    assert "Schnittbericht" in said["de"]
    assert "Section report" not in said["de"]
    with pytest.raises(api.ERRORS, match="no language 'fr': name one of en, de"):
        api.report(project, WHEEL, tmp_path / "fr.pdf", language="fr")
    assert not (tmp_path / "fr.pdf").exists()


def test_every_public_name_is_there_and_says_what_it_returns() -> None:
    for name in api.__all__:
        assert getattr(api, name) is not None
        if callable(getattr(api, name)):
            assert getattr(api, name).__doc__, name


def test_parameters_are_set_and_read_and_check_tells_them(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    project = api.open_sample(SAMPLE)
    wheel = api.wheel(project, WHEEL)
    number = len(wheel.section.vertices) - 3
    wheel = api.with_parameter(wheel, "lip", "1/2", unit="in", note="invented")
    wheel = api.with_parameter(wheel, "back", "2 * lip + 3", drives=[("z", number)])
    assert api.parameters(wheel) == {"lip": 12.7, "back": 28.4}
    assert wheel.section.vertices[number - 1].z == 28.4
    wheel = api.with_parameter(wheel, "lip", "10 mm")
    assert wheel.section.vertices[number - 1].z == 23.0
    path = tmp_path / "p.blankwright"
    api.save(api.with_wheel(project, wheel), path)
    assert api.parameters(api.wheel(api.open_project(path), WHEEL)) == {"lip": 10.0, "back": 23.0}
    main(["check", str(path), "--wheel", WHEEL, "--json"])
    told = json.loads(capsys.readouterr().out)["wheels"][0]["parameters"]
    assert told[1] == {
        "name": "back", "formula": "2 * lip + 3", "unit": "mm", "value": 23.0, "error": None,
        "drives": [{"what": "z", "vertices": [number]}], "note": "",
    }  # fmt: skip
    for name, words, says in (("lip", "back", "circle: lip → back → lip"), ("lip", "3 deg", "an angle")):
        with pytest.raises(EditError, match=says):
            api.with_parameter(wheel, name, words)
    with pytest.raises(EditError, match="locked rim contour"):
        api.with_parameter(wheel, "x", "3", drives=[("z", 1)])
    with pytest.raises(EditError, match="drives nothing"):
        api.with_parameter(wheel, "x", "3", drives=[("zz", 1)])


def test_a_constraint_of_a_script_holds_or_is_refused_by_name() -> None:
    """Two vertices of the hub's face, at z 40: held 4 mm farther from the mounting face."""
    project = example.project()
    wheel = project.wheels[0]
    count = len(wheel.section.vertices)
    low = next(n for n in range(1, count) if wheel.section.vertices[n - 1].zone is Zone.HUB_FACE)
    face = next(n for n in range(1, count) if wheel.section.vertices[n - 1].zone is Zone.BORE)
    made = api.with_constraint(project, wheel, "distance along z", (face, low), 44.0)
    v = made.section.vertices
    assert v[low - 1].z - v[face - 1].z == pytest.approx(44.0, abs=1e-6)
    assert [str(c.kind) for c in made.constraints] == ["distance along z"]
    with pytest.raises(EditError, match="distance along z 44"):
        api.with_constraint(project, made, Hold.ALONG_Z, (face, low), 50.0)
    for kind, vertices, value, shape, words in (
        ("parallel", (1, 2), None, None, "is no constraint: name one of radius"),
        ("distance", (1,), 3.0, None, "it must name 2 or 3"),
        ("distance", (face, low), None, None, "value is missing"),
        ("clear of", (low,), 3.0, "nothing", "no shape called 'nothing'"),
        ("tangent", (9999,), None, None, "9999"),
    ):
        with pytest.raises(EditError, match=words):
            api.with_constraint(project, wheel, kind, vertices, value, shape=shape)
