"""What in one fitment contradicts itself or its project, and what it leaves open."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from app.project.project import Compromise, Fitment, Project
from app.project.wheel import Wheel


class Said(NamedTuple):
    """What is wrong: the columns that it is about, the one to look at first in front, and words."""

    keys: tuple[str, ...]
    words: str


def contradictions(project: Project, fitment: Fitment, wheel: Wheel | None) -> Iterator[Said]:
    """Yield what in a fitment cannot be meant; `wheel` is the one that it names."""
    f = fitment
    yield from _backwards("inset_low_mm", "inset_high_mm", f.inset_low_mm, f.inset_high_mm, "Inset", " mm")
    yield from _years(project, f)
    yield from _volumes(f)
    if f.bore_mm is not None and f.bolt_circle_mm is not None and f.bore_mm >= f.bolt_circle_mm:
        words = f"the bore {f.bore_mm:g} mm is not smaller than the bolt circle {f.bolt_circle_mm:g} mm"
        yield Said(("bore_mm", "bolt_circle_mm"), f"{words}; exchange or correct them")
    if wheel is not None and f.diameter_code is not None and wheel.size.diameter_code != f.diameter_code:
        words = f"{f.diameter_code:g} is not the diameter of '{wheel.name}', which is {wheel.size}"
        yield Said(("diameter_code", "wheel"), f"{words}; correct the code, or name another wheel or none")
    yield from _given_up(f)


def _backwards(
    low_key: str, high_key: str, low: float | None, high: float | None, what: str, unit: str
) -> Iterator[Said]:
    if low is not None and high is not None and low > high:
        words = f"{what} runs backwards, from {low:g}{unit} to {high:g}{unit}; exchange them"
        yield Said((low_key, high_key), words)


def _years(project: Project, f: Fitment) -> Iterator[Said]:
    first, last, begins = f.first_year, f.last_year, project.programme.first_year
    if first is not None and last is not None and first > last:
        words = f"the years run backwards, from {first} to {last}; exchange or correct them"
        yield Said(("first_year", "last_year"), words)
    if last is not None and begins is not None and last < begins:
        words = f"the row ends in {last}, before the programme begins in {begins}"
        yield Said(("last_year",), f"{words}; correct the year, or the programme's first year")


def _volumes(f: Fitment) -> Iterator[Said]:
    keys = ("volume_low", "volume_likely", "volume_high")
    known = [(key, value) for key in keys if (value := getattr(f, key)) is not None]
    if [v for _, v in known] != sorted(v for _, v in known):
        words = ", ".join(f"{key.removeprefix('volume_')} {value}" for key, value in known)
        yield Said(tuple(k for k, _ in known), f"the wheels a year do not rise: {words}; put them in order")


def _given_up(f: Fitment) -> Iterator[Said]:
    given = f.compromise
    if given is None:
        if f.compromise_shape is not None:
            words = "a brake is given up, but no share of the volume that would still sell; fill the share"
            yield Said(("compromise_shape", "compromise.share"), words)
        return
    low = f.inset_low_mm if given.inset_low_mm is None else given.inset_low_mm
    high = f.inset_high_mm if given.inset_high_mm is None else given.inset_high_mm
    if given.inset_low_mm is not None or given.inset_high_mm is not None:
        keys = ("compromise.inset_low_mm", "compromise.inset_high_mm")
        yield from _backwards(*keys, low, high, "the inset of the compromise", " mm")
    if f.compromise_shape is not None and f.compromise_shape == f.shape:
        yield Said(
            ("compromise_shape", "shape"), f"'{f.shape}' is the brake itself; name a smaller one or none"
        )


def open_points(fitment: Fitment, wheel: Wheel | None) -> list[str]:
    """Return the heads, in words, of what a plan needs and the fitment does not state."""
    f = fitment
    needs: list[tuple[bool, str]] = [
        (f.diameter_code is None and wheel is None, "diameter"),
        (f.width_code is None and wheel is None, "width"),
        (f.inset_low_mm is None and f.inset_high_mm is None, "inset"),
        ((f.inset_low_mm is None) != (f.inset_high_mm is None), "the other end of the inset window"),
        (f.shape is None and (wheel is None or not wheel.clears), "brake"),
        (f.rules is None and (wheel is None or wheel.rules is None), "rule set"),
        (f.load_kg is None and (wheel is None or wheel.load_kg is None), "wheel load"),
        (f.bolt_count is None and wheel is None, "bolts"),
        (f.bolt_circle_mm is None and f.bolt_count != 1 and wheel is None, "bolt circle"),
        (f.bore_mm is None and wheel is None, "bore"),
        (f.must is None, "must or want"),
        (f.certainty is None, "certainty"),
        (f.first_year is None, "first year"),
        (f.last_year is None, "last year"),
        (f.volume_likely is None, "likely wheels a year"),
        (f.contribution is None, "contribution"),
        *_open_of(f.compromise, f.compromise_shape),
    ]
    return [words for is_open, words in needs if is_open]


def _open_of(given: Compromise | None, shape: str | None) -> Iterator[tuple[bool, str]]:
    if given is not None:
        changed = (given.width_code, given.inset_low_mm, given.inset_high_mm, given.lip_mm, shape)
        yield given.contribution is None, "contribution of the compromise"
        yield all(value is None for value in changed), "what the compromise gives up"
