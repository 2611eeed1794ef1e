"""Whose work the program stands on, and under which licence: read from what is installed, not from a list."""

from __future__ import annotations

import re
from dataclasses import dataclass
from importlib.metadata import Distribution, PackageNotFoundError, distribution
from pathlib import Path

from app import resources

#: Where the licence is none of the names of SPDX, packages write the whole text into one field.
_LONGEST_NAME = 60

_REQUIREMENT = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]*")
_LICENCE_FILE = re.compile(r"(licen[sc]e|copying|notice|copyright)", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Licence:
    """One part that the program stands on.

    Attributes:
        name: of the part.
        version: as installed.
        licence: in the words of its makers; "not stated" where they say nothing in the fields for it.
        texts: file name to text of what came with it.
    """

    name: str
    version: str
    licence: str
    texts: tuple[tuple[str, str], ...] = ()


def licences() -> list[Licence]:
    """Return the program, its fonts, and every package that it needs, directly or by another, by name.

    Packages of optional parts are there where they are installed; without the program's own metadata, as in a
    checkout that is not installed, nothing but program and fonts is listed.
    """
    own = Licence("blankwright", _version("blankwright"), "MIT")
    font = resources.font("DejaVuSans").with_name("LICENSE-DejaVu.txt")
    fonts = Licence(
        "DejaVu fonts", "2.37", "Bitstream Vera, public domain", ((font.name, font.read_text("utf-8")),)
    )
    found = [_licence(part) for part in _needed("blankwright").values()]
    return [own, fonts, *sorted(found, key=lambda part: part.name.lower())]


def lines(*, with_texts: bool = False) -> list[str]:
    """Return one line for each part, and their licences' texts below where these are asked for."""
    parts = licences()
    wide = max(len(f"{part.name} {part.version}") for part in parts) + 2
    found = [f"{part.name} {part.version}".ljust(wide) + part.licence for part in parts]
    if with_texts:
        for part in parts:
            for name, text in part.texts:
                found += ["", "=" * 78, f"{part.name} {part.version}: {name}", "", text.rstrip()]
    return found


def _version(name: str) -> str:
    try:
        return distribution(name).version
    except PackageNotFoundError:
        return "from a checkout"


def _needed(root: str) -> dict[str, Distribution]:
    """Return all installed packages that one needs, by canonical name, itself left out."""
    found: dict[str, Distribution] = {}
    waiting = [root]
    while waiting:
        name = waiting.pop()
        try:
            part = distribution(name)
        except PackageNotFoundError:
            continue  # for another system or Python, or an optional part that is not there
        if name != root:
            found[name] = part
        for line in part.requires or ():
            word = _REQUIREMENT.match(line)
            wanted = _canonical(word[0]) if word else ""
            if wanted and wanted != root and wanted not in found and _holds(line, is_root=name == root):
                waiting.append(wanted)
    return found


def _holds(requirement: str, *, is_root: bool) -> bool:
    """Return whether a requirement counts: extras of the program itself do where they are installed."""
    return is_root or "extra ==" not in requirement.replace("'", '"').partition(";")[2]


def _canonical(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name).lower()


def _first(values: list[str] | None) -> str:
    return (values or [""])[0].strip()


def _text(content: bytes) -> str:
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError:
        return content.decode("latin-1")


def _is_licence(path: str) -> bool:
    _, _, name = path.partition(".dist-info/")
    return bool(name) and (name.startswith("licenses/") or bool(_LICENCE_FILE.search(name)))


def _licence(part: Distribution) -> Licence:
    about = part.metadata
    classifiers = [
        line.rpartition(" :: ")[2]
        for line in about.get_all("Classifier") or ()
        if line.startswith("License ::")
    ]
    field = _first(about.get_all("License"))
    if len(field) > _LONGEST_NAME or "\n" in field or field == "UNKNOWN":
        field = ""
    said = _first(about.get_all("License-Expression")) or field or ", ".join(classifiers) or "not stated"
    files = {file.as_posix(): Path(str(file.locate())) for file in part.files or ()}
    texts = tuple(
        (name, _text(path.read_bytes()))
        for name, path in files.items()
        if _is_licence(name) and path.is_file()
    )
    return Licence(about["Name"], part.version, said, texts)
