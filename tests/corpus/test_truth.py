"""The corpus is whole and its truth sound: checks that need no reader.

test_second_look.py holds the files themselves against their truth by other means.
"""

import re
import zipfile
from collections import Counter
from functools import cache
from io import BytesIO

import pytest

from tests.corpus.make_files import cases
from tests.corpus.shapes import Chain, area, bounds, contains, flattened, pieces
from tests.corpus.truth import FILES, KINDS, QUESTIONS, UNIT_MM, Options, Truth, truths

TRUTHS = list(truths().values())
CHAINS = [
    pytest.param(chain, truth, id=f"{truth.file}-{i}")
    for truth in TRUTHS
    for i, chain in enumerate((*truth.outlines, *truth.other_outlines))
]


@cache
def made_by_a_library() -> set[str]:
    return {truth.file for truth in TRUTHS if truth.file.endswith(".dxf")} - {
        case.truth.file for case in cases() if b"ezdxf" not in case.content.lower()
    }


def test_every_file_is_listed_and_every_entry_has_its_file() -> None:
    assert sorted(truth.file for truth in TRUTHS) == sorted(path.name for path in FILES.iterdir())


def test_there_are_enough_files_and_they_are_small() -> None:
    assert sum(not truth.several_defects for truth in TRUTHS) >= 66
    assert sum(truth.several_defects for truth in TRUTHS) >= 10
    sizes = [path.stat().st_size for path in FILES.iterdir()]
    assert max(sizes) < 200_000
    assert sum(sizes) < 4_000_000


def test_most_files_are_written_without_a_drawing_library() -> None:
    assert 5 <= len(made_by_a_library()) < len(TRUTHS) / 4
    kinds = Counter(truth.kind for truth in TRUTHS)
    assert set(kinds) == set(KINDS)
    assert min(kinds.values()) >= 15


def unpacked(content: bytes) -> bytes | dict[str, bytes]:
    """A zip's members, which do not depend on how they were compressed; else the bytes."""
    if not content.startswith(b"PK"):
        return content
    with zipfile.ZipFile(BytesIO(content)) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def test_the_maker_makes_these_very_files() -> None:
    """Files written with ezdxf depend on its release; they are compared between two runs instead."""
    again = {case.truth.file: case for case in cases()}
    for case in cases():
        name = case.truth.file
        assert case.content == again[name].content, name
        if name not in made_by_a_library():
            assert unpacked(case.content) == unpacked((FILES / name).read_bytes()), name


def test_the_maker_makes_this_very_truth() -> None:
    from tests.corpus.truth import TRUTH_FILE, as_json

    made, kept = as_json([case.truth for case in cases()]), TRUTH_FILE.read_text("utf-8")
    # Numbers apart, the text is the same; libraries of other releases may round the last digits otherwise.
    number = re.compile(r"-?\d+\.\d+(?:e-?\d+)?")
    assert number.sub("", made) == number.sub("", kept)
    for a, b in zip(number.findall(made), number.findall(kept), strict=True):
        assert abs(float(a) - float(b)) <= 1e-6


@pytest.mark.parametrize("truth", TRUTHS, ids=lambda t: t.file)
def test_entry_is_sound(truth: Truth) -> None:
    assert truth.kind in KINDS
    assert truth.defect.endswith(".")
    assert len(truth.defect) > 4
    assert truth.outlines
    assert set(truth.questions) <= set(QUESTIONS)
    assert truth.unit_stated is None or truth.unit_stated in UNIT_MM
    assert truth.options.unit is None or truth.options.unit in UNIT_MM
    assert 0.0 < truth.tol_in_mm <= 13.0
    assert 0.0 < truth.tol_out_mm <= 13.0
    for words in (*truth.warnings, *filter(None, [truth.may_refuse])):
        re.compile(words)
    for count in (truth.joined, truth.doubles):
        assert count is None or 0 <= count[0] <= count[1]


@pytest.mark.parametrize("truth", TRUTHS, ids=lambda t: t.file)
def test_what_is_not_said_is_asked(truth: Truth) -> None:
    """A missing unit is asked for and answered; so is one that the answers overrule."""
    options = truth.options
    if truth.unit_stated is None:
        assert options.unit is not None
        assert "unit" in truth.questions
    elif options.unit is not None or options.factor != 1.0:
        assert {"unit", "scale"} & set(truth.questions)
    asked = {
        "mirror": options.complete_at_z_mm is not None,
        "bodies": options.bodies != "all",
        "probe": options.ball_radius_mm > 0.0,
        "sheet": options.sheet is not None and truth.file != "xlsx_hidden_sheet.xlsx",
    }
    for question, needed in asked.items():
        assert not needed or question in truth.questions, question
    if truth.kind == "mesh":
        assert "axle" in truth.questions


@pytest.mark.parametrize(("chain", "truth"), CHAINS)
def test_chain_is_an_outline(chain: Chain, truth: Truth) -> None:
    places = [(z, r) for z, r, _ in chain]
    assert len(chain) >= 2
    if chain in truth.outlines:  # a sheet's frame may reach below the axle
        assert all(r >= 0.0 for _, r in places)
    assert all(abs(v) < 600.0 for place in places for v in place)
    assert all(abs(bulge) <= 4.0 for *_, bulge in chain)
    assert all(part.length() > 1e-7 for part in pieces(chain, truth.closed))
    left, right, low, high = bounds(chain, truth.closed)
    assert right - left > 4.0
    assert high - low > 4.0
    if truth.closed:
        assert area(chain) > 10.0
        assert simple(chain)
    else:
        assert chain[-1][2] == 0.0


def simple(chain: Chain) -> bool:
    """Whether no two sides of the outline cross, arcs as chords to 0.01 mm."""
    places = flattened(chain, 0.01)
    sides = list(zip(places, [*places[1:], places[0]], strict=True))

    def left_of(a: tuple[float, float], b: tuple[float, float], p: tuple[float, float]) -> float:
        return (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])

    for i, (a, b) in enumerate(sides):
        for j, (c, d) in enumerate(sides[i + 2 :], i + 2):
            if i == 0 and j == len(sides) - 1:
                continue
            if left_of(a, b, c) * left_of(a, b, d) < 0.0 and left_of(c, d, a) * left_of(c, d, b) < 0.0:
                return False
    return True


@pytest.mark.parametrize("truth", [t for t in TRUTHS if t.options.inside], ids=lambda t: t.file)
def test_the_place_inside_names_one_outline(truth: Truth) -> None:
    """The smallest outline that contains it is the wanted one."""
    assert truth.options.inside
    containing = [c for c in (*truth.outlines, *truth.other_outlines) if contains(c, truth.options.inside)]
    assert min(containing, key=area) in truth.outlines


def test_the_flat_topped_block_reaches_what_the_published_row_says() -> None:
    """checks.md G1: 195 over the axle line, half length 60 and 90: 204.02 and 214.77 (sqrt(195^2 + 60^2))."""
    known = truths()
    for name, reach in (
        ("stl_flat_top.stl", 204.02),
        ("stl_flat_top_long.stl", 214.77),
        ("points_flat_top.xyz", 204.02),
    ):
        assert bounds(known[name].outlines[0])[3] == pytest.approx(reach, abs=0.01)


def test_options_are_plain() -> None:
    """Read from text, the options equal those the maker gave."""
    made = {case.truth.file: case.truth.options for case in cases()}
    for truth in TRUTHS:
        assert isinstance(truth.options, Options)
        assert truth.options == made[truth.file]
