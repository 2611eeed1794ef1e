"""The language that people read: English in the sources, others from catalogues in gettext's format.

`tr` marks a text where it is made for the eye. Below the window nothing is marked: values, states and errors
stay English there, since files, tables, scripts and logs hold them; `spoken` gives such words in the language
where they are shown, in the window and on paper. The language is chosen once, before the modules of the
window are imported; without a choice, as in every command that is not asked for pages in another, all is
English.
"""

from __future__ import annotations

import gettext
import os
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cached_property, lru_cache
from pathlib import Path
from string import Formatter

#: What there is to choose from, each by its own name.
LANGUAGES = {"en": "English", "de": "Deutsch"}

_FOLDER = Path(__file__).resolve().parent / "_locale"
_WORD = re.compile(r"[^\W\d_]{2,}")
#: A number or a name ends before this; only what is itself a text may hold it.
_END = re.compile(r"[.;:] | · ")
#: Thousands as English parts them, but for what is quoted; a narrow space parts them in other languages,
#: where a comma may be the decimal sign (ISO 80000-1, 7.3).
_THOUSANDS = re.compile(r"(?<![\w.,'\"])[1-9]\d{0,2}(?:,\d{3})+(?![\w,])")
_PARTING = "\u202f"
#: A template of so few letters, as "{low} to {high}", fits too much: it takes no text apart that has a joint
#: or that is not known.
_FEW = 5
_JOINT = re.compile(r"[.;:,](?: |$)| · |\n")
#: A number with its unit, if it has one.
_FIGURES = r"[-−+]?\d[\d.,\u202f]*(?: ?(?:mm|in|kg|lb|MPa|MN|N|J|min|°|%)(?: \([^()]*\))?)?"
#: Marks of a value that is a text; of "w" one without joints, never a list.
_TEXTS = ("t", "w")
#: Places that are such without a mark.
_SINGLE = frozenset({"zone", "side"})
#: What parts a text that was put together from others, where the whole is in no catalogue.
_JOINTS = ("\n", " · ", ". ", "; ", ": ", ", ")
#: At most so many parts are tried as one text, which has a joint of its own.
_TOGETHER = 3
#: A sign before words, a number after them, words in brackets: "▼ short", "hot brake 0.42", "mm (drawing)".
_SIGN = re.compile(r"([^\w\s'\"(]+ )(.+)", re.DOTALL)
_NUMBER = re.compile(r"(.*?[^\W\d_].*?)( (?:≈ |x )?[-−+±]?\d[\d.,\u202f]*| [-−+])", re.DOTALL)
_COUNT = re.compile(r"([-−+]?\d[\d.,\u202f]* )(.*[^\W\d_].*)", re.DOTALL)
_BRACKETS = re.compile(r"([^()]*)\(([^()]+)(\)[.:]?)", re.DOTALL)

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

    def said(self, template: str, values: dict[str, object], names: frozenset[str] = frozenset()) -> str:
        """Return a text with its values; "!t" in the translation marks one that is a text as well."""
        if not values:
            return template
        made = []
        for literal, name, conversion, spec in pieces(template):
            made.append(literal)
            if name:
                value = values[name]
                if conversion:
                    is_text = conversion in _TEXTS
                    value = self.spoken(str(value), names) if is_text else _CONVERSIONS[conversion](value)
                shown = format(value, spec)
                made.append(shown.replace(",", _PARTING) if "," in spec else shown)
        return "".join(made)

    def _spoken(self, text: str, names: frozenset[str] = frozenset()) -> str:
        """Return a finished English text in this language: whole, by a template, or part by part."""
        if text in names:
            return text
        found = self._one(text, names)
        if found is not None:
            return found
        if text[:1] == " ":
            return " " + self.spoken(text[1:], names)
        if (sign := _SIGN.fullmatch(text)) is not None:
            return sign[1] + self.spoken(sign[2], names)
        for joint in _JOINTS:
            parts = _split(text, joint)
            if len(parts) > 1:
                return self._joined(parts, joint, names)
        if (brackets := _BRACKETS.fullmatch(text)) is not None:
            before, inner, after = brackets.groups()
            head = before.rstrip()
            said = self.spoken(head, names) if head else ""
            return f"{said}{before[len(head) :]}({self.spoken(inner, names)}{after}"
        if (number := _NUMBER.fullmatch(text)) is not None:
            return self.spoken(number[1], names) + _parted(number[2])
        if (count := _COUNT.fullmatch(text)) is not None:
            return _parted(count[1]) + self.spoken(count[2], names)
        return _parted(text)

    def _one(self, text: str, names: frozenset[str]) -> str | None:
        """Return a text that is one in the catalogue, also with a label before or brackets behind it."""
        found = self._bracketed(text, names)
        if found is not None:
            return found
        label, _, rest = text.partition(": ")
        if _JOINT.search(rest) and self._is_known(label, names):
            found = self._bracketed(rest, names)
            return None if found is None else f"{self.spoken(label, names)}: {found}"
        return None

    def _bracketed(self, text: str, names: frozenset[str]) -> str | None:
        found = self._whole(text, names)
        brackets = _BRACKETS.fullmatch(text) if found is None else None
        if brackets is not None and (found := self._whole(brackets[1].rstrip(), names)) is not None:
            return f"{found} ({self.spoken(brackets[2], names)}{brackets[3]}"
        return found

    def _joined(self, parts: list[str], joint: str, names: frozenset[str]) -> str:
        """Return parts with what joins them; some of them may be one text together."""
        said, k = "", 0
        while k < len(parts):
            before = joint if k else ""
            most = min(_TOGETHER, len(parts) - k, len(parts) - 1)
            found = self._whole(before + parts[k], names) if joint == ", " else None
            if found is not None and found[:1] == before[:1]:
                said, k = said + found, k + 1
                continue
            alone = parts[k] if parts[k] in names else self._whole(parts[k], names)
            together = (
                (count, found)
                for count in range(most if alone is None else 0, 1, -1)
                if (found := self._one(joint.join(parts[k : k + count]), names)) is not None
            )
            count, found = next(together, (1, alone if alone is not None else self.spoken(parts[k], names)))
            said, k = said + before + found, k + count
        return said

    def _whole(self, text: str, names: frozenset[str]) -> str | None:
        ways = list(_ways(text))
        for asked, put_back in ways:
            if found := self.texts.get(asked):
                return put_back(found)
        fitting = [(*self._by_template(asked, names), put_back) for asked, put_back in ways]
        letters, said, put_back = max(fitting, key=lambda f: f[0])
        return put_back(said) if letters else None

    def _by_template(self, text: str, names: frozenset[str]) -> tuple[int, str]:
        """Return how many letters of a template fit a text, 0 for none, and the translation."""
        if self._templates is None:
            self._templates = _indexed({text: self.texts[text] for text in self.below})
        # A pattern that fails takes long; that its longest words stand in a text is soon seen.
        candidates = {
            t for word in _WORD.findall(text) for t in self._templates.get(word, ()) if t.literal in text
        }
        for template in sorted(
            candidates, key=lambda t: (-t.letters, -len(t.figures), -len(t.texts), t.text)
        ):
            found = template.pattern.fullmatch(text)
            if found is not None and template.takes(found.groupdict(), self._is_known, names):
                values = {name: _parted(value) for name, value in found.groupdict().items()}
                return template.letters, self.said(template.translated, dict(values), names)
        return 0, ""

    def _is_known(self, text: str, names: frozenset[str]) -> bool:
        return _WORD.search(text) is None or text in names or self.spoken(text, names) != text


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


def _split(text: str, joint: str) -> list[str]:
    """Return the parts between joints; one within brackets parts nothing."""
    first, *rest = text.split(joint)
    parts = [first]
    for piece in rest:
        if parts[-1].count("(") > parts[-1].count(")"):
            parts[-1] += joint + piece
        else:
            parts.append(piece)
    return parts


def _parted(text: str) -> str:
    """Return a text with a narrow space where English parts thousands."""
    return _THOUSANDS.sub(lambda found: found[0].replace(",", _PARTING), text) if "," in text else text


def _same(found: str) -> str:
    return found


def _capital(found: str) -> str:
    return found[:1].upper() + found[1:]


class _Template:
    """An English text with places for values, as a pattern."""

    def __init__(self, text: str, translated: str) -> None:
        self.text, self.translated = text, translated
        self.texts = {name for _, name, conversion, _ in pieces(translated) if conversion in _TEXTS}
        self.single = {name for _, name, conversion, _ in pieces(translated) if conversion == "w"}
        self.figures = {name for _, name, conversion, _ in pieces(translated) if conversion == "n"}
        self.plain = {name for _, name, _, _ in pieces(text) if name} - self.texts
        seen: set[str] = set()
        pattern = []
        literals = []
        parts = pieces(text)
        for k, (literal, name, _, _) in enumerate(parts):
            pattern.append(re.escape(literal))
            literals.append(literal)
            if name:
                value = _FIGURES if name in self.figures else ".*?"
                if k + 1 < len(parts) and parts[k + 1][1] and name not in self.figures:
                    if parts[k + 1][0] == " ":  # of two texts in a row the first ends with its sentence
                        value = f".*?[.!?]|{value}"
                    elif not parts[k + 1][0]:  # the first ends where a joint begins
                        value = rf"(?:[^;:,(]|,(?=\d{{3}}))*|{value}"
                pattern.append(f"(?P={name})" if name in seen else f"(?P<{name}>{value})")
                seen.add(name)
        self._pattern = "".join(pattern)
        whole = "".join(literals)
        self._is_small = len(re.sub(r"[\W\d_]", "", whole)) <= _FEW
        self._has_joint = _JOINT.search(whole) is not None
        self.letters = len("".join(whole.split()))
        self.literal = max(literals, key=len)
        self.key = max((w for part in literals for w in _WORD.findall(part)), key=len, default="")

    def takes(
        self, values: dict[str, str], is_known: Callable[[str, frozenset[str]], bool], names: frozenset[str]
    ) -> bool:
        """Return whether values are such as belong in the places."""
        bare = {name: re.sub(r"\([^()]*\)", "", value) for name, value in values.items()}
        if any(value.count("(") != value.count(")") or "\n" in value for value in values.values()):
            return False
        if any(_END.search(bare[name]) for name in self.single | (_SINGLE & bare.keys())):
            return False
        if self._is_small and (
            (not self._has_joint and any(map(_JOINT.search, bare.values())))
            or not all(is_known(values[name], names) for name in self.texts)
            or any(values[name].lstrip()[:1].islower() and values[name] not in names for name in self.plain)
        ):
            return False
        return not any(_END.search(values[name]) for name in self.plain)

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


_CONVERSIONS: dict[str, Callable[[object], str]] = {"r": repr, "s": str, "a": ascii, "n": str}


@lru_cache(8192)
def pieces(template: str) -> tuple[_Piece, ...]:
    """Return a template taken apart: literal, name, conversion and format of each piece."""
    return tuple((a, b or "", d or "", c or "") for a, b, c, d in Formatter().parse(template))


_catalogue: Catalogue | None = None
_code = "en"
_names: ContextVar[frozenset[str] | None] = ContextVar("_names", default=None)
_kept: frozenset[str] = frozenset()


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


@contextmanager
def speaking(code: str) -> Iterator[None]:
    """Put a language in force for a while: for the pages of a command, which itself speaks English.

    Raises:
        ValueError: There is no such language.
    """
    global _catalogue, _code
    before = _catalogue, _code
    choose(code)
    try:
        yield
    finally:
        _catalogue, _code = before


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
    return _catalogue.said(_catalogue.texts.get(text) or text, values, _in_force())


def ntr(one: str, many: str, count: int, /, **values: object) -> str:
    """Return `one` for a count of 1, else `many`, in the forms of the language; `{count}` is the count."""
    values["count"] = count
    if _catalogue is None:
        return (one if count == 1 else many).format(**values)
    found = _catalogue.texts.get((one, _catalogue.form(count)))
    return _catalogue.said(found or (one if count == 1 else many), values, _in_force())


def spoken(text: str) -> str:
    """Return English words from below the window (a state, an error, a zone) in the language in force.

    Names that people gave are no texts of the program and stay as they are.
    """
    return text if _catalogue is None else _catalogue.spoken(text, _in_force())


def parted(text: str) -> str:
    """Return a number with its thousands as the language in force parts them."""
    return text if _catalogue is None else _parted(text)


def keep(names: frozenset[str]) -> None:
    """Keep `spoken` and `tr` from translating names from now on, even where the program has such a word.

    A window says so of its project: most of its tables speak every cell, names of wheels and shapes too.
    """
    global _kept
    if names != _kept:  # the same object finds what was spoken before
        _kept = names


def _in_force() -> frozenset[str]:
    names = _names.get()
    return _kept if names is None else names


@contextmanager
def keeping(names: frozenset[str]) -> Iterator[None]:
    """Keep these names, and no others, for a while: those of the project whose pages are written."""
    token = _names.set(names)
    try:
        yield
    finally:
        _names.reset(token)


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
