"""Catalogues and the texts that are in them; the window in German is tried in tests/gui/test_german.py."""

import ast
import gettext
import json
import os
import re
import subprocess
import sys

import pytest

from app import language, resources
from tests.support import catalogue

CODES = [code for code in language.LANGUAGES if code != "en"]


@pytest.fixture(scope="module")
def texts() -> dict[str, catalogue.Text]:
    return catalogue.texts()


@pytest.mark.parametrize("code", CODES)
def test_every_text_is_translated_and_no_entry_is_stale_or_empty(
    code: str, texts: dict[str, catalogue.Text]
) -> None:
    entries = catalogue.read(code)[1]
    missing = [f"{text.files[0]}: {one}" for one, text in texts.items() if one not in entries]
    stale = [one for one in entries if one not in texts]
    empty = [one for one, entry in entries.items() if not all(entry.said)]
    other = [one for one, entry in entries.items() if one in texts and entry.many != texts[one].many]
    assert (missing, stale, empty, other) == ([], [], [], [])


@pytest.mark.parametrize("code", CODES)
def test_places_of_a_translation_are_those_of_its_text(code: str, texts: dict[str, catalogue.Text]) -> None:
    wrong = []
    for entry in catalogue.read(code)[1].values():
        wanted = set(catalogue.places(entry.one)) | set(catalogue.places(entry.many or ""))
        for said in entry.said:
            # What is spoken may leave a value out: an English ending, say.
            found = set(catalogue.places(said))
            if not found <= wanted or (found != wanted and not texts[entry.one].is_spoken and not entry.many):
                wrong.append((entry.one, said))
    assert not wrong


@pytest.mark.parametrize("code", CODES)
def test_words_keep_their_edges_and_the_mark_of_their_key(code: str) -> None:
    """Blanks at an end part words that are put together; "&" marks a letter, and markup stays whole."""
    wrong = []
    for entry in catalogue.read(code)[1].values():
        for said in entry.said:
            ends = (said[:1] == " ", said[-1:] == " ") == (entry.one[:1] == " ", entry.one[-1:] == " ")
            if (
                not ends
                or (said.count("&") > 1 and "&nbsp;" not in said)
                or said.count("<") != entry.one.count("<")
            ):
                wrong.append((entry.one, said))
    assert not wrong


def test_plural_forms_are_those_of_the_head_as_the_standard_library_reads_it() -> None:
    assert "Plural-Forms: nplurals=2; plural=(n != 1);" in catalogue.read("de")[0]
    form = gettext.c2py("(n != 1)")
    found = language.read("de")
    assert [found.form(n) for n in (0, 1, 2, 21)] == [form(n) for n in (0, 1, 2, 21)] == [1, 0, 1, 1]


@pytest.mark.parametrize("code", CODES)
def test_the_program_reads_what_stands_in_the_catalogue(code: str) -> None:
    found = language.read(code)
    for entry in catalogue.read(code)[1].values():
        if entry.many is None:
            assert found.texts[entry.one] == entry.said[0]
        else:
            assert [found.texts[entry.one, k] for k in range(len(entry.said))] == entry.said


def test_english_is_what_stands_in_the_sources() -> None:
    assert language.language() == "en"
    assert language.tr("{name}: {x:.2f} mm missing", name="Rim", x=0.5) == "Rim: 0.50 mm missing"
    assert language.ntr("{count} wheel", "{count} wheels", 1) == "1 wheel"
    assert language.ntr("{count} wheel", "{count} wheels", 3) == "3 wheels"
    assert language.spoken("not known") == "not known"


def german() -> language.Catalogue:
    texts: dict[str | tuple[str, int], str] = {
        "clear": "frei",
        "spoke back": "Speichenrückseite",
        "{zone} is {mm} mm short": "{zone!t}: {mm} mm zu wenig",
        "{state} at {place}": "{state!t} bei {place:.1f}",
        ("{count} wheel", 0): "{count} Rad",
        ("{count} wheel", 1): "{count} Räder",
    }
    return language.Catalogue(texts, lambda n: int(n != 1), frozenset({"clear", "{zone} is {mm} mm short"}))


def test_words_from_below_are_spoken_whole_by_pattern_and_part_by_part() -> None:
    spoken = german().spoken
    assert spoken("clear") == "frei"
    assert spoken("Clear") == "Frei"
    assert spoken("clear.") == "frei."
    assert spoken("spoke back is 0.20 mm short") == "Speichenrückseite: 0.20 mm zu wenig"
    assert spoken("Track 18: clear; spoke back is 1.00 mm short") == (
        "Track 18: frei; Speichenrückseite: 1.00 mm zu wenig"
    )


def test_a_name_that_people_gave_stays() -> None:
    spoken = german().spoken
    assert spoken("Track 18") == "Track 18"
    assert spoken("clear water") == "clear water"


def test_a_pattern_takes_no_sentence_for_a_number() -> None:
    """Else '{least} or more' would swallow what stands before it."""
    texts: dict[str | tuple[str, int], str] = {
        "{least} or more": "{least} oder mehr",
        "It is open": "Es ist offen",
    }
    found = language.Catalogue(texts, lambda n: int(n != 1), frozenset({"{least} or more"}))
    assert found.spoken("95 or more") == "95 oder mehr"
    assert found.spoken("It is open. It asks for 95 or more") == "Es ist offen. It asks for 95 oder mehr"


def test_a_pattern_of_the_window_is_not_looked_for_in_words_from_below() -> None:
    assert german().spoken("touching at the hub") == "touching at the hub"


def test_a_sign_before_words_a_number_after_them_and_parted_thousands() -> None:
    spoken = german().spoken
    assert spoken("● clear") == "● frei"
    assert spoken("clear 0.42") == "frei 0.42"
    assert spoken("1,250,000 EUR") == "1\u202f250\u202f000 EUR"
    assert spoken("'1,250' is no length; 0,125 or z 1,5") == "'1,250' is no length; 0,125 or z 1,5"


def test_a_template_of_few_letters_takes_only_what_it_knows() -> None:
    texts: dict[str | tuple[str, int], str] = {
        "clear": "frei",
        "hub": "Nabe",
        "{a} and {b}": "{a!t} und {b!t}",
        "{low} to {high}": "{low!n} bis {high!n}",
    }
    spoken = language.Catalogue(texts, lambda n: int(n != 1), frozenset(texts)).spoken  # type: ignore[arg-type]
    assert spoken("clear and hub") == "frei und Nabe"
    assert spoken("clear and unheard of") == "clear and unheard of"
    assert spoken("clear and Track 18", frozenset({"Track 18"})) == "frei und Track 18"
    assert spoken("6 to 9.5") == "6 bis 9.5"
    assert spoken("next to 9.5") == "next to 9.5"


def test_a_name_is_kept_where_the_program_has_such_a_word() -> None:
    with language.speaking("de"):
        assert language.spoken("spoke back") == "Speiche hinten"
        with language.keeping(frozenset({"spoke back"})):
            assert language.spoken("spoke back") == "spoke back"
            assert language.spoken("spoke back: clear") == "spoke back: frei"
        assert language.spoken("spoke back") == "Speiche hinten"
    assert language.language() == "en"
    assert language.spoken("spoke back") == "spoke back"


def test_names_of_the_open_project_stay_but_for_pages_of_another() -> None:
    with language.speaking("de"):
        language.keep(frozenset({"Caliper 380"}))
        try:
            assert language.spoken("Caliper 380") == "Caliper 380"
            with language.keeping(frozenset({"another"})):
                assert language.spoken("Caliper 380") == "Bremssattel 380"
        finally:
            language.keep(frozenset())
        assert language.spoken("Caliper 380") == "Bremssattel 380"


def test_a_comma_between_thousands_parts_no_two_texts() -> None:
    with language.speaking("de"):
        said = language.spoken("If volumes halve, without A18: cost 260,199 EUR at present value.")
    assert said == "Halbieren sich die Mengen, ohne A18: Kosten 260\u202f199 EUR als Barwert."


def test_of_two_texts_in_a_row_the_first_ends_with_its_sentence() -> None:
    texts: dict[str | tuple[str, int], str] = {
        "It is open": "Es ist offen",
        "It is clear": "Es ist frei",
        "{what}; {first} {second} So": "{what!t}; {first!t} {second!t} Also",
    }
    found = language.Catalogue(texts, lambda n: int(n != 1), frozenset(texts))  # type: ignore[arg-type]
    assert found.spoken("x; It is open. It is clear. So") == "x; Es ist offen. Es ist frei. Also"


def test_a_value_that_is_a_text_is_spoken_as_it_is_put_in() -> None:
    found = german()
    assert found.said(found.texts["{state} at {place}"], {"state": "clear", "place": 1.26}) == "frei bei 1.3"


def test_there_is_no_language_but_those_listed(monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(ValueError, match="there is no language 'xx': choose one of en, de"):
        language.choose("xx")
    for name in ("LANGUAGE", "LC_ALL", "LC_MESSAGES", "LANG"):
        monkeypatch.delenv(name, raising=False)
    assert language.of_system() == "en"
    monkeypatch.setenv("LANG", "de_AT.UTF-8")
    assert language.of_system() == "de"
    monkeypatch.setenv("LC_ALL", "fr_FR.UTF-8")
    assert language.of_system() == "en"


def test_commands_speak_english_whatever_the_system_speaks() -> None:
    """Scripts read them: the same JSON byte for byte."""
    sample = "sample_projects/1-track-18-own-blank.blankwright"
    command = [sys.executable, "-m", "app.entry", "check", sample]
    made = [
        subprocess.run(
            [*command, "--json"],
            env={**os.environ, "LANG": lang, "LC_ALL": lang, "LANGUAGE": lang[:2], "PYTHONUTF8": "1"},
            capture_output=True,
            cwd=catalogue.ROOT,
        ).stdout
        for lang in ("C", "de_DE.UTF-8")
    ]
    assert json.loads(made[0])
    assert made[0] == made[1]


#: Calls that put words before people, with the places of the words among their arguments.
SHOWN = {
    **dict.fromkeys(
        ("setText", "setToolTip", "setWindowTitle", "setPlaceholderText", "setAccessibleName"), (0,)
    ),
    **dict.fromkeys(("QLabel", "QPushButton", "QCheckBox", "QRadioButton", "QGroupBox", "quiet_label"), (0,)),
    **dict.fromkeys(("say", "note", "head", "page", "addTab", "addMenu", "setSpecialValueText"), (0,)),
    **dict.fromkeys(("tell", "ask", "inform"), (1, 2)),
    **dict.fromkeys(("getSaveFileName", "getOpenFileName", "getOpenFileNames"), (1, 3)),
    "getItem": (1, 2),
    "setAccessibleDescription": (0,),
    "commit": (1,),
    "Action": (1,),
    "FieldError": (0,),
    "EditError": (0,),
    "Column": (0,),
}
#: What is shown as it stands in every language: product, markup, units.
SAME = frozenset({"Blankwright", "mm", "in", "kg", "lb", "MPa", "kN", "N"})


def unmarked(tree: ast.AST) -> list[str]:
    """Return words that are put before people without a mark."""
    found = []
    for node in ast.walk(tree):
        if not isinstance(node, ast.Call):
            continue
        name = node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")
        for place in SHOWN.get(name, ()):
            for word in _literals(node.args[place]) if place < len(node.args) else ():
                bare = "".join(c if c.isalpha() else " " for c in word)
                if any(len(part) > 1 and part not in SAME for part in bare.split()):
                    found.append(f"line {node.lineno}: {name}({word!r})")
    return found


def _literals(node: ast.expr) -> list[str]:
    """Return the words of an expression that stand there themselves, not in a call or as a key."""
    if isinstance(node, ast.Constant):
        return [node.value] if isinstance(node.value, str) else []
    if isinstance(node, ast.JoinedStr):
        return [str(piece.value) for piece in node.values if isinstance(piece, ast.Constant)]
    if isinstance(node, ast.IfExp):
        return [*_literals(node.body), *_literals(node.orelse)]
    if isinstance(node, ast.BoolOp):
        return [word for value in node.values for word in _literals(value)]
    if isinstance(node, ast.BinOp):
        return [*_literals(node.left), *_literals(node.right)]
    return []


def test_what_is_put_before_people_is_marked() -> None:
    found = []
    for folder in catalogue.MARKED:
        for path in catalogue.sources(folder):
            if path.name == "pictures.py":  # scenes of the manual, in words of their own
                continue
            said = unmarked(ast.parse(path.read_text(encoding="utf-8")))
            found += [f"{path.relative_to(catalogue.ROOT)} {words}" for words in said]
    assert not found


def test_the_check_of_marks_notices_an_unmarked_text() -> None:
    tree = ast.parse('self.label.setText("Not marked")\nlabel.setText(tr("Marked"))\nsay(f"{x} mm")')
    assert unmarked(tree) == ["line 1: setText('Not marked')"]


@pytest.mark.parametrize("code", CODES)
def test_every_page_of_the_manual_is_translated_with_its_keys_pictures_and_parts(code: str) -> None:
    folder = resources.manual("start").parent
    pages = sorted(path.stem for path in folder.glob("*.md"))
    assert len(pages) >= 10
    for name in pages:
        path = resources.manual(name, code)
        assert path.parent.name == code, f"{name} is not translated"
        english, translated = (p.read_text("utf-8") for p in (folder / f"{name}.md", path))
        for pattern in (r"\{[^}]*\}", r"\]\(([a-z_]+)\)", r"(?m)^#+ |^\| |^- |^\d\. ", r"`[^`]*`"):
            assert sorted(re.findall(pattern, translated)) == sorted(re.findall(pattern, english)), name
