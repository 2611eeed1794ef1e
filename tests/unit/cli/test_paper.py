"""What goes on paper by command: whose copy, the gauge, and whether a stored file is still current."""

from __future__ import annotations

import io
from dataclasses import replace
from pathlib import Path

import pdfplumber
import pypdf
import pytest

from app.cli.command_line import main
from app.files.project_file import load, save
from app.project.project import Fitment, Project
from app.resources import sample

OWN, BOUGHT = sample("1-track-18-own-blank"), sample("2-track-18-bought-blank")
WHEEL = ["--wheel", "Track 18"]
MM = 72.0 / 25.4


def text_of(pdf: Path) -> str:
    return " ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf.read_bytes())).pages)


@pytest.fixture
def project(tmp_path: Path) -> Path:
    """A project whose wheel is held against a shape of the house and one of a customer."""
    made: Project = load(OWN)
    theirs = replace(made.shapes[0], name="Orion two-piece", owner="Orion Team")
    wheel = replace(made.wheels[0], clears=(*made.wheels[0].clears, theirs.name))
    path = tmp_path / "p.blankwright"
    other = Fitment("Enquiry", customer="Another Team")
    save(replace(made, shapes=(*made.shapes, theirs), wheels=(wheel,), fitments=(other,)), path)
    return path


def test_a_copy_for_a_customer_shows_the_customers_shapes_only(
    project: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "r.pdf"
    assert main(["report", str(project), *WHEEL, "--out", str(out)]) == 0
    assert "A18" in text_of(out)
    assert "internal copy" in text_of(out)
    to_customer = ["report", str(project), *WHEEL, "--for", "customer", "--out", str(out)]
    assert main([*to_customer, "--customer", "Orion Team"]) == 0
    text = text_of(out)
    assert "Section report for Orion Team" in text
    assert "Orion two-piece" in text
    assert "A18" not in text
    assert capsys.readouterr().err == ""
    assert main([*to_customer, "--customer", "Another Team"]) == 0
    assert "Orion" not in text_of(out)
    # Who runs the command is told what was not judged; the file is not.
    assert "left out, of another owner and not judged there: 'Orion two-piece'" in capsys.readouterr().err
    # A name that nobody knows may be a slip: the customer's own brake would be left out unseen.
    assert main([*to_customer, "--customer", "Orion Teem"]) == 2
    assert "Nobody called 'Orion Teem'" in capsys.readouterr().err
    # A copy for nobody in particular could leave out the customer's own brake unseen.
    out.unlink()
    assert main(to_customer) == 2
    assert "Name the customer" in capsys.readouterr().err
    assert not out.exists()


def test_a_gauge_is_written_and_corrected(tmp_path: Path) -> None:
    out = tmp_path / "g.pdf"
    command = ["report", str(OWN), *WHEEL, "--gauge", "--out", str(out)]
    for bar, level, upright in (
        ([], 100.0, 100.0),
        (["--bar", "97.2,99.8"], 1e4 / 97.2, 1e4 / 99.8),
        (["--bar", "97,2;99,8"], 1e4 / 97.2, 1e4 / 99.8),
    ):
        for of in ([], ["--gauge-of", "brake"], ["--gauge-of", "wheel"]):
            assert main([*command, *of, *bar]) == 0
            with pdfplumber.open(out) as document:
                for page in document.pages:
                    lines = page.lines
                    along = [(e["x1"] - e["x0"]) / MM for e in lines if abs(e["top"] - e["bottom"]) < 1e-6]
                    up = [(e["bottom"] - e["top"]) / MM for e in lines if abs(e["x0"] - e["x1"]) < 1e-6]
                    assert min(abs(x - level) for x in along) < 0.01
                    assert min(abs(x - upright) for x in up) < 0.01


def test_a_stored_file_is_current_until_its_input_changes(
    project: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    ask = ["report", str(project), *WHEEL, "--is-current"]
    files = {
        tmp_path / "house.pdf": [],
        tmp_path / "customer.pdf": ["--for", "customer", "--customer", "Orion Team"],
    }
    files[tmp_path / "gauge.pdf"] = ["--gauge"]
    for out, options in files.items():
        assert main(["report", str(project), *WHEEL, *options, "--out", str(out)]) == 0
    capsys.readouterr()
    for out in files:
        assert main([*ask, str(out)]) == 0
        assert capsys.readouterr().out == f"{out}: current.\n"
    made = load(project)
    other = replace(made.wheels[0], name="Another", clears=())
    save(replace(made, wheels=(*made.wheels, other)), project)
    for out in files:
        assert main([*ask, str(out)]) == 0
    save(replace(made, wheels=(replace(made.wheels[0], inset_mm=37.99),)), project)
    capsys.readouterr()
    for out in files:
        assert main([*ask, str(out)]) == 1
        assert f"{out}: stale: 'Track 18'" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--customer", "X", "--out", "r.pdf"], "--for customer"),
        (["--bar", "97,98", "--out", "r.pdf"], "--gauge"),
        (["--gauge-of", "wheel", "--out", "r.pdf"], "--gauge"),
        (["--gauge", "--bar", "97", "--out", "r.pdf"], "two lengths"),
        (["--gauge", "--bar", "97,x", "--out", "r.pdf"], "x"),
        (["--gauge", "--bar", "3.9,3.9", "--out", "r.pdf"], "90 to 110"),
        (["--gauge", "--shape", "None", "--out", "r.pdf"], "None"),
        (["--is-current", "none.pdf"], "none.pdf"),
        (["--is-current", "none.txt"], "ends in .pdf"),
        (["--is-current", "r.pdf", "--out", "r.pdf"], "not allowed"),
        (["--for", "nobody", "--out", "r.pdf"], "nobody"),
        ([], "required"),
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
    try:
        code = main(["report", str(OWN), *WHEEL, *arguments])
    except SystemExit as left:
        code = int(left.code or 0)
    assert code == 2
    shown = capsys.readouterr()
    assert shown.out == ""
    assert shown.err.count("\n") == 1
    assert words in shown.err
    assert list(tmp_path.iterdir()) == []


def test_a_file_that_is_no_report_says_so(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    foreign = tmp_path / "f.pdf"
    foreign.write_bytes(b"%PDF-1.4\n")
    assert main(["report", str(OWN), *WHEEL, "--is-current", str(foreign)]) == 2
    assert "no report written by this program" in capsys.readouterr().err


def test_a_copy_that_would_name_another_is_not_written(
    project: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    made = load(project)
    save(replace(made, name="Track 18 out of A18"), project)
    out = tmp_path / "r.pdf"
    to = ["--for", "customer", "--customer", "Orion Team"]
    assert main(["report", str(project), *WHEEL, *to, "--out", str(out)]) == 2
    assert "would say 'A18'" in capsys.readouterr().err
    assert not out.exists()


def test_a_short_wheel_is_stamped_for_the_customer_too(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "r.pdf"
    sample_3 = sample("3-gt-19-touching")
    assert main(["report", str(sample_3), "--wheel", "GT 19", "--for", "customer", "--out", str(out)]) == 1
    assert "not for release" in capsys.readouterr().err
    for page in pypdf.PdfReader(out).pages:
        assert "NOT FOR RELEASE" in page.extract_text()
