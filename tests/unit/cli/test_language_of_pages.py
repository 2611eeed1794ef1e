"""`--language de` of the commands that write pages; what they print stays English."""

from pathlib import Path

import pypdf
import pytest

from app import entry, language

SAMPLE = "sample_projects/3-gt-19-touching.blankwright"
REPORT = ["report", SAMPLE, "--wheel", "GT 19"]


def said(path: Path) -> str:
    return "\n".join(page.extract_text() for page in pypdf.PdfReader(path).pages)


@pytest.mark.parametrize("before", [True, False])
def test_the_pages_are_in_the_language_asked_for(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], before: bool
) -> None:
    out = tmp_path / "report.pdf"
    asked = ["--language", "de"]
    command = [*REPORT, "--out", str(out)]
    assert entry.main([*asked, *command] if before else [*command, *asked]) == 1
    printed = capsys.readouterr()
    assert "is stamped 'not for release': Touching:" in printed.err
    words = said(out)
    assert "KEINE FREIGABE" in words
    assert "NOT FOR RELEASE" not in words
    assert pypdf.PdfReader(out).metadata.title.startswith("Schnittbericht: GT 19")  # type: ignore[union-attr]
    assert language.language() == "en"


def test_pages_without_a_language_are_english_and_a_stored_one_is_current_in_any(tmp_path: Path) -> None:
    english, german = tmp_path / "en.pdf", tmp_path / "de.pdf"
    entry.main([*REPORT, "--out", str(english)])
    entry.main([*REPORT, "--out", str(german), "--language", "de"])
    assert "NOT FOR RELEASE" in said(english)
    assert [entry.main([*REPORT, "--is-current", str(path)]) for path in (english, german)] == [0, 0]


def test_a_language_that_is_not_there_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        entry.main([*REPORT, "--out", "x.pdf", "--language", "xx"])
    assert "invalid choice: 'xx'" in capsys.readouterr().err
