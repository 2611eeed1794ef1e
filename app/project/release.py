"""Released section sheets: a record that freezes what was released, and what tells that it is whole.

The digests find damage and careless edits. They are no signature: who can write the file can write them anew.
"""

from __future__ import annotations

import base64
import binascii
import hashlib
import json
import re
import unicodedata
import zlib
from collections.abc import Sequence
from dataclasses import dataclass, fields
from datetime import date
from functools import lru_cache

#: A sheet is about 60 kB; a record that unpacks to more was not written here.
LARGEST_BYTES = 20_000_000

_REVISION = re.compile(r"[A-Z]{1,3}")


@dataclass(frozen=True)
class Release:
    """A section sheet as it went out; it is never changed.

    Attributes:
        wheel: its name when it was released; the record does not follow when the wheel is renamed.
        revision: A, B, C ... of this wheel.
        on: date of issue, YYYY-MM-DD, as the user gave it.
        drawn_by, checked_by: two different people.
        change: what changed since the revision before.
        paper: of the sheet.
        version: of the program that drew it.
        input_sha256: of the frozen bytes: what the sheet rests on, and what was read from it.
        frozen, pdf: these bytes and the sheet's own, packed (zlib, base64).
        sha256: of all that stands above.
    """

    wheel: str
    revision: str
    on: str
    drawn_by: str
    checked_by: str
    change: str
    paper: str
    version: str
    input_sha256: str
    frozen: str
    pdf: str
    sha256: str

    @property
    def words(self) -> str:
        """The release by its name: 'Track 18, revision A'."""
        return f"{self.wheel}, revision {self.revision}"


class DamagedReleaseError(ValueError):
    """A record is not what was released; it is never printed again as if it were."""


def packed(data: bytes) -> str:
    """Return bytes as text for the project file."""
    return base64.b64encode(zlib.compress(data, 9)).decode("ascii")


def unpacked(text: str) -> bytes:
    """Return the bytes of a packed text.

    Raises:
        DamagedReleaseError: it is none, or holds more than any sheet.
    """
    reader = zlib.decompressobj()
    try:
        data = reader.decompress(base64.b64decode(text, validate=True), LARGEST_BYTES)
    except (binascii.Error, ValueError, zlib.error) as error:
        raise DamagedReleaseError("a packed part cannot be read") from error
    if not reader.eof or reader.unused_data:
        raise DamagedReleaseError("a packed part is cut short or too long")
    return data


def digest_of(release: Release) -> str:
    """Return the digest of a record's fields but for its own."""
    rows = [getattr(release, field.name) for field in fields(release) if field.name != "sha256"]
    return hashlib.sha256(json.dumps(rows, ensure_ascii=True).encode("ascii")).hexdigest()


@lru_cache(maxsize=64)  # asked at every edit; a record never changes
def trouble(release: Release) -> str:
    """Return why a record is not what was released, or nothing where it is whole."""
    if digest_of(release) != release.sha256:
        return "its text does not belong to its digest"
    try:
        if hashlib.sha256(unpacked(release.frozen)).hexdigest() != release.input_sha256:
            return "the frozen wheel does not belong to its digest"
        if not unpacked(release.pdf).startswith(b"%PDF-"):
            return "it holds no sheet"
    except DamagedReleaseError as error:
        return str(error)
    if not _REVISION.fullmatch(release.revision):
        return f"'{release.revision}' is no revision"
    if are_one_person(release.drawn_by, release.checked_by):
        return "who drew it also checked it"
    return ""


def troubles(releases: Sequence[Release]) -> tuple[str, ...]:
    """Return a sentence for each record that is not what was released, and for revisions given twice."""
    found = []
    for i, release in enumerate(releases):
        reason = trouble(release)
        if not reason and any(_same_place(release, other) for other in releases[:i]):
            reason = "the wheel already has a release of this revision"
        if reason:
            found.append(
                f"The release {release.words} was damaged or edited outside: {reason}. It cannot be printed "
                f"again; take the record from an earlier copy of the project."
            )
    return tuple(found)


def _same_place(a: Release, b: Release) -> bool:
    return (a.wheel, a.revision) == (b.wheel, b.revision)


def of_wheel(releases: Sequence[Release], wheel: str) -> tuple[Release, ...]:
    """Return the releases of a wheel in their order, the newest last."""
    return tuple(release for release in releases if release.wheel == wheel)


def next_revision(releases: Sequence[Release], wheel: str) -> str:
    """Return the revision after the latest of a wheel: A, B ... Z, AA, AB ..."""
    numbers = [_number(r.revision) for r in of_wheel(releases, wheel) if _REVISION.fullmatch(r.revision)]
    return _letters(max(numbers, default=0) + 1)


def _number(letters: str) -> int:
    number = 0
    for letter in letters:
        number = 26 * number + ord(letter) - ord("A") + 1
    return number


def _letters(number: int) -> str:
    letters = ""
    while number:
        number, place = divmod(number - 1, 26)
        letters = chr(ord("A") + place) + letters
    return letters


def are_one_person(a: str, b: str) -> bool:
    """Return whether two names are of one person as far as their letters tell: case and blanks aside."""
    return _folded(a) == _folded(b)


def _folded(name: str) -> str:
    return " ".join(unicodedata.normalize("NFKC", name).casefold().replace(".", " ").split())


def people_trouble(drawn_by: str, checked_by: str) -> str:
    """Return what is wrong with who drew and who checked, or nothing."""
    for name, what in ((drawn_by, "drew"), (checked_by, "checked")):
        if not _folded(name):
            return f"Nobody is named who {what} the sheet; type a name."
    if are_one_person(drawn_by, checked_by):
        return f"'{drawn_by.strip()}' drew and checked the sheet; two different people must."
    return ""


def date_trouble(on: str) -> str:
    """Return what is wrong with a date of issue, or nothing."""
    try:
        written = date.fromisoformat(on).isoformat()
    except ValueError:
        written = ""
    return "" if on and on == written else f"'{on}' is no date: write it as 2026-03-09."
