"""The language that people read: English in the sources, others from catalogues in gettext's format.

`tr` marks a text where it is made for the eye. Below the window nothing is marked: values, states and errors
stay English there, since files, tables, scripts and logs hold them; `spoken` gives such words in the language
where they are shown. The language is chosen once, before the modules of the window are imported; without a
choice, as in every command, all is English.
"""

from __future__ import annotations

import gettext
import os
import re
from collections.abc import Callable, Iterator
from functools import cached_property, lru_cache
from pathlib import Path
from string import Formatter

#: What there is to choose from, each by its own name.
LANGUAGES = {"en": "English", "de": "Deutsch"}

_FOLDER = Path(__file__).resolve().parent / "_locale"
_WORD = re.compile(r"[^\W\d_]{2,}")
#: A number or a name ends before this; only what is itself a text may hold it.
_END = re.compile(r"[.;:] ")
#: What parts a text that was put together from others, where the whole is in no catalogue.
_JOINTS = ("\n", ". ", "; ", ": ", ", ")

#: Literal text, name of the value behind it or "", its format, and whether it is itself a text ("!t").
_Piece = tuple[str, str, str, str]


class Catalogue:
    """The texts of one language.

    Attributes:
        texts: by English text; plural forms by (singular, number of the form).
        form: which plural form a number takes.
        below: English texts of the layers below the window; `spoken` looks for their patterns alone.
    """

    def __init__(
        self, texts: dict[str | tuple[str, int], str], form: Callable[[int], int], below: frozenset[str]
    ) -> None:
        self.texts, self.form, self.below = texts, form, below
        self._templates: dict[str, list[_Template]] | None = None
        self.spoken = lru_cache(8192)(self._spoken)

    def said(self, template: str, values: dict[str, object]) -> str:
        """Return a text with its values; "!t" in the translation marks one that is a text as well."""
        if not values:
            return template
        made = []
        for literal, name, conversion, spec in pieces(template):
            made.append(literal)
            if name:
                value = values[name]
                if conversion:
                    value = self.spoken(str(value)) if conversion == "t" else _CONVERSIONS[conversion](value)
                made.append(format(value, spec))
        return "".join(made)

    def _spoken(self, text: str) -> str:
        """Return a finished English text in this language: whole, by a template, or part by part."""
        found = self._whole(text)
        if found is not None:
            return found
        for joint in _JOINTS:
            first, *rest = text.split(joint)
            if rest:
                said = self.spoken(first)
                for part in rest:
                    with_joint = self._whole(joint + part) if joint == ", " else None
                    said += with_joint or joint + self.spoken(part)
                return said
        return text

    def _whole(self, text: str) -> str | None:
        ways = list(_ways(text))
        for asked, put_back in ways:
            if found := self.texts.get(asked):
                return put_back(found)
        fitting = [(*self._by_template(asked), put_back) for asked, put_back in ways]
        letters, said, put_back = max(fitting, key=lambda f: f[0])
        return put_back(said) if letters else None

    def _by_template(self, text: str) -> tuple[int, str]:
        """Return how many letters of a template fit a text, 0 for none, and the translation."""
        if self._templates is None:
            self._templates = _indexed({text: self.texts[text] for text in self.below})
        candidates = {t for word in _WORD.findall(text) for t in self._templates.get(word, ())}
        for template in sorted(candidates, key=lambda t: -t.letters):
            found = template.pattern.fullmatch(text)
            if found is not None and not any(_END.search(found[name]) for name in template.plain):
                return template.letters, self.said(template.translated, dict(found.groupdict()))
        return 0, ""


def _ways(text: str) -> Iterator[tuple[str, Callable[[str], str]]]:
    """Yield a text as it may stand in the sources, and what makes of its translation that of the text."""
    yield text, _same
    if text[:1].isupper():
        yield text[:1].lower() + text[1:], _capital
    if text[-1:] in (".", ":", "!"):
        mark = text[-1]
        for asked, put_back in _ways(text[:-1]):
            yield asked, lambda found, put_back=put_back: put_back(found) + mark  # type: ignore[misc]
    elif text[:1] != " ":
        yield f" {text}", str.lstrip
        yield f"{text}.", lambda found: found.removesuffix(".")
        yield f" {text}.", lambda found: found.removesuffix(".").lstrip()


def _same(found: str) -> str:
    return found


def _capital(found: str) -> str:
    return found[:1].upper() + found[1:]


class _Template:
    """An English text with places for values, as a pattern."""

    def __init__(self, text: str, translated: str) -> None:
        self.translated = translated
        texts = {name for _, name, conversion, _ in pieces(translated) if conversion == "t"}
        self.plain = {name for _, name, _, _ in pieces(text) if name} - texts
        seen: set[str] = set()
        pattern = []
        literals = []
        for literal, name, _, _ in pieces(text):
            pattern.append(re.escape(literal))
            literals.append(literal)
            if name:
                pattern.append(f"(?P={name})" if name in seen else f"(?P<{name}>.*?)")
                seen.add(name)
        self._pattern = "".join(pattern)
        self.letters = sum(map(len, literals))
        self.key = max((w for part in literals for w in _WORD.findall(part)), key=len, default="")

    @cached_property
    def pattern(self) -> re.Pattern[str]:
        """What fits the text with any values; made when it is first tried."""
        return re.compile(self._pattern, re.DOTALL)


def _indexed(texts: dict[str, str]) -> dict[str, list[_Template]]:
    """Return the templates by their longest word; one without a word of its own is none."""
    made: dict[str, list[_Template]] = {}
    for text, translated in texts.items():
        if "{" in text:
            template = _Template(text, translated)
            if template.key:
                made.setdefault(template.key, []).append(template)
    return made


_CONVERSIONS: dict[str, Callable[[object], str]] = {"r": repr, "s": str, "a": ascii}


@lru_cache(8192)
def pieces(template: str) -> tuple[_Piece, ...]:
    """Return a template taken apart: literal, name, conversion and format of each piece."""
    return tuple((a, b or "", d or "", c or "") for a, b, c, d in Formatter().parse(template))


_catalogue: Catalogue | None = None
_code = "en"


def language() -> str:
    """Return the code of the language in force."""
    return _code


def choose(code: str | None = None) -> str:
    """Put a language in force and return its code; without one that of the system, else English.

    Call it before modules of the window are imported: their tables are made in the language then in force.

    Raises:
        ValueError: There is no such language.
    """
    global _catalogue, _code
    chosen = code or of_system()
    if chosen not in LANGUAGES:
        raise ValueError(f"there is no language '{chosen}': choose one of {', '.join(LANGUAGES)}")
    _code = chosen
    _catalogue = None if chosen == "en" else read(chosen)
    return chosen


def of_system() -> str:
    """Return the language that the system's variables ask for, English where it is none of ours."""
    for name in ("LANGUAGE", "LC_ALL", "LC_MESSAGES", "LANG"):
        for asked in filter(None, os.environ.get(name, "").split(":")):
            code = asked.partition(".")[0].partition("_")[0].lower()
            return code if code in LANGUAGES else "en"
    return "en"


def tr(text: str, /, **values: object) -> str:
    """Return a text in the language in force, with its values put in by name.

    A literal stands here, so that the catalogue's tool finds it.
    """
    if _catalogue is None:
        return text.format(**values) if values else text
    return _catalogue.said(_catalogue.texts.get(text) or text, values)


def ntr(one: str, many: str, count: int, /, **values: object) -> str:
    """Return `one` for a count of 1, else `many`, in the forms of the language; `{count}` is the count."""
    values["count"] = count
    if _catalogue is None:
        return (one if count == 1 else many).format(**values)
    found = _catalogue.texts.get((one, _catalogue.form(count)))
    return _catalogue.said(found or (one if count == 1 else many), values)


def spoken(text: str) -> str:
    """Return English words from below the window (a state, an error, a zone) in the language in force.

    Names that people gave are no texts of the program and stay as they are.
    """
    return text if _catalogue is None else _catalogue.spoken(text)


def catalogue_file(code: str) -> Path:
    """Return where the texts of a language lie."""
    return _FOLDER / code / "LC_MESSAGES" / "blankwright.po"


def read(code: str) -> Catalogue:
    """Read the texts of a language; entries without a translation are left out."""
    texts: dict[str | tuple[str, int], str] = {}
    below: set[str] = set()
    fields: dict[str, list[str]] = {}
    is_below = False
    kept: list[str] = []
    form: Callable[[int], int] = lambda n: int(n != 1)  # noqa: E731 - what gettext falls back to

    def end() -> None:
        nonlocal is_below
        entry = {name: _unquoted(parts) for name, parts in fields.items()}
        source = entry.get("msgid", "")
        if source:
            for name, words in entry.items():
                if name == "msgstr" and words:
                    texts[source] = words
                    if is_below:
                        below.add(source)
                elif name.startswith("msgstr[") and words:
                    texts[source, int(name[7:-1])] = words
        fields.clear()
        is_below = False

    for line in catalogue_file(code).read_text(encoding="utf-8").splitlines():
        if line.startswith('"'):
            kept.append(line[1:-1])
        elif line.startswith("msg"):
            name, _, words = line.partition(" ")
            if name == "msgid" and "msgid" in fields:
                end()
            kept = fields.setdefault(name, [])
            kept.append(words[1:-1])
        elif line == "#, spoken":
            is_below = True
        elif not line and fields:
            header = fields if not "".join(fields.get("msgid", ())) else None
            if header is not None:
                form = _plural(_unquoted(header.get("msgstr", [])))
            end()
    end()
    return Catalogue(texts, form, frozenset(below))


_ESCAPES = {"n": "\n", "t": "\t", '"': '"', "\\": "\\"}


def _unquoted(parts: list[str]) -> str:
    text = "".join(parts)
    return re.sub(r"\\(.)", lambda m: _ESCAPES[m[1]], text) if "\\" in text else text


def _plural(header: str) -> Callable[[int], int]:
    found = re.search(r"plural=([^;\n]+)", header)
    made: Callable[[int], int] = gettext.c2py(found[1].strip() if found else "n != 1")
    return made
