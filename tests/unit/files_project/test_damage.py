"""Damaged, edited and hostile files: each is refused in one line or offered as edited outside."""

import contextlib
import re

import pytest

from app.files.migrations import FORMAT
from app.files.project_file import EditedOutside, ProjectFileError, dumps, loads
from app.project.project import Project
from tests.support.whole_projects import changed, compact, every_class

DATA = dumps(compact())


def reason(data: bytes, ignore_digest: bool = False) -> str:
    """Return the one line that refuses a file."""
    with pytest.raises(ProjectFileError) as caught:
        loads(data, ignore_digest)
    assert "\n" not in str(caught.value)
    return str(caught.value)


def test_every_truncation_is_refused() -> None:
    data = dumps(every_class())
    for length in range(len(data)):
        with pytest.raises(ProjectFileError) as caught:
            loads(data[:length])
        # Without its last line end the text is still whole: that alone is offered to the user.
        assert isinstance(caught.value, EditedOutside) == (length == len(data) - 1)


def flipped(bit: int) -> bytes:
    data = bytearray(DATA)
    data[bit // 8] ^= 1 << bit % 8
    return bytes(data)


@pytest.mark.parametrize("step", [pytest.param(1, marks=pytest.mark.long), 7])
def test_no_flipped_bit_is_silently_read(step: int) -> None:
    offered = 0
    for bit in range(0, 8 * len(DATA), step):  # a step of 7 meets every bit of a byte
        with pytest.raises(ProjectFileError) as caught:
            loads(flipped(bit))
        offered += isinstance(caught.value, EditedOutside)
    assert 0 < offered < 8 * len(DATA) / step


def test_flipped_bit_opened_on_request_never_ends_in_another_error() -> None:
    for bit in range(0, 8 * len(DATA), 11):  # every byte, each time another bit
        with contextlib.suppress(ProjectFileError):
            assert isinstance(loads(flipped(bit), ignore_digest=True), Project)


def test_edit_by_hand_is_offered_and_opened_on_request() -> None:
    edited = DATA.replace(b'"r": 200.25', b'"r": 201.5')
    with pytest.raises(EditedOutside, match="edited outside or damaged") as caught:
        loads(edited)
    assert caught.value.errors == ()
    assert loads(edited, ignore_digest=True).wheels[0].vertices[2].r == 201.5


@pytest.mark.parametrize(
    "edited",
    [
        DATA.replace(b"\n", b"\r\n"),
        b"\xef\xbb\xbf" + DATA,
        b"{" + DATA.split(b"\n", 1)[1],
        DATA.replace(b'"sha256": "', b'"sha256": "0', 1),
        DATA.rstrip(b"\n"),
        DATA + b"\n",
    ],
    ids=["line ends", "byte order mark", "no digest", "longer digest", "no last line end", "one more"],
)
def test_text_that_another_program_re_saved_is_offered(edited: bytes) -> None:
    with pytest.raises(EditedOutside):
        loads(edited)
    assert loads(edited, ignore_digest=True) == compact()


def test_edited_file_lists_all_its_errors_at_once() -> None:
    edited = (
        DATA.replace(b'"r": 200.25', b'"r": "wide"')
        .replace(b'"bore"', b'"hole"')
        .replace(b'"inset_mm"', b'"inset"', 1)
    )
    with pytest.raises(EditedOutside, match=r"cannot be opened as it is: .* \(and 3 more\)") as caught:
        loads(edited)
    assert len(caught.value.errors) == 4
    found = "\n".join(sorted(caught.value.errors))
    assert found.startswith(
        'wheels[0].inset is not a key of the project file; perhaps "inset_mm" is meant\n'
        "wheels[0].inset_mm is missing; add it (a number)\n"
        'wheels[0].vertices[1].zone is "hole"; it must be one of "outer lip", '
    )
    assert found.endswith('wheels[0].vertices[2].r is "wide"; it must be a number')
    assert "and 3 more" in reason(edited, ignore_digest=True)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("0.125", '0.125, "zz": 1', r"wheels\[0\]\.vertices\[2\]\.zz is not a key"),
        ("0.125", '0.125, "bulge": 0.5', r"wheels\[0\]\.vertices\[2\]\.bulge is given twice"),
        ('"revision": "1"', '"revision": "1", "revision": "2"', "revision is given twice; keep one"),
        ('["me", 1]', '["me", 1], "by": 2', r"wheels\[0\]\.notes\.by is given twice"),
        (f'"format": {FORMAT}', f'"format": {FORMAT}, "format": 1', "format is given twice"),
        ('cy_year": null', 'cy_year": 2026.5', "currency_year is 2026.5; it must be a whole number or null"),
        ('cy_year": null', 'cy_year": true', "currency_year is true; it must be a whole number or null"),
        ("38.0", '"38"', r'wheels\[0\]\.inset_mm is "38"; it must be a number'),
        ("38.0", "null", r"wheels\[0\]\.inset_mm is null; it must be a number"),
        ("38.0", "NaN", r"wheels\[0\]\.inset_mm is nan; give it a finite number"),
        ("38.0", "1e400", r"wheels\[0\]\.inset_mm is inf; give it a finite number"),
        ("38.0", "1" + "0" * 30, r"inset_mm is a whole number beyond 64 bits"),
        ('"tyre": ""', '"tyre": "\\ud800"', r"wheels\[0\]\.tyre holds half a character"),
        ('["Block"]', '"Block"', r'clears is "Block"; it must be a list, each item text'),
        ('"wheels": [', '"wheels": {}, "x": [', r"x is not a key of the project file; remove it"),
        ('"z": 20.0, "r": 36.0', '"r": 36.0', r"vertices\[1\]\.z is missing; add it \(a number\)"),
        (
            '"fixing": null',
            '"fixing": {"cone_deg": 60.0}',
            r"fixing\.seat_diameter_mm is .*and 4 more",
        ),
        ('"fixing": null', '"fixing": [1]', r"wheels\[0\]\.fixing is \[1\]; it must be an object"),
        ('"spokes": null', '"spokes": {"widths": [[1.0]]}', r"spokes\.count is missing.*and 4 more"),
    ],
)
def test_what_the_schema_does_not_know_is_refused_with_its_path(old: str, new: str, message: str) -> None:
    assert re.search(message, reason(changed(old, new)))


def test_what_cannot_be_shown_is_a_question_mark_in_every_line_that_is_said() -> None:
    edited = changed('"revision": "1"', '"revision": "1", "\\ud800\\u0000\\n": 2')
    with pytest.raises(ProjectFileError) as caught:
        loads(edited)
    said = [str(caught.value), *caught.value.errors]
    assert all(line.isprintable() for line in said)
    assert any("??? is not a key" in line or "???" in line for line in said)


def test_newer_format_is_refused_naming_the_format_needed_whatever_else_is_in_it() -> None:
    newer = changed(f'"format": {FORMAT},', f'"format": {FORMAT + 2}, "unheard of": [],')
    assert f"has format {FORMAT + 2} and this program reads up to {FORMAT}" in reason(newer)
    assert f"one that reads format {FORMAT + 2}" in reason(
        newer.replace(b"unheard", b"of"), ignore_digest=True
    )


@pytest.mark.parametrize("written", ["0", "-1", "1.0", "true", '"1"', "null", "[]"])
def test_format_that_never_was_is_refused(written: str) -> None:
    assert "it must be a whole number from 1" in reason(
        changed(f'"format": {FORMAT},', f'"format": {written},')
    )


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"", "no whole project file"),
        (b"\x00" * 100, "no whole project file"),
        (b"[1, 2]", "no project file"),
        (b'{"name": "x"}', 'it has no "format"'),
        (b"\xff\xfe{\x00}\x00", "Line 1 is not UTF-8 text"),
        (b'{"format": 1,\n\n"name": "\xe9"}', "Line 3 is not UTF-8 text"),
        (b"  0\nSECTION\n  2\nHEADER\n", "no whole project file"),
        (b'{"format": 1, "notes": ' + b"[" * 100_000, "deeper than 32 levels"),
        (b'{"format": 1, "notes": ' + b'{"a":' * 100_000, "deeper than 32 levels"),
        (
            b'{"format": 1, "name": "x", "notes": {"a": ' + b"[" * 40 + b"]" * 40 + b"}}",
            "deeper than 32 levels",
        ),
        (b'{"format": ' + b"1" * 100_000 + b"}", "too many digits"),
        (b'{"format": 1, "name": ', "line 1, column 2"),
    ],
)
def test_what_is_no_project_file_is_refused_in_one_line(data: bytes, message: str) -> None:
    assert message in reason(data, ignore_digest=True)
