"""Every file of the corpus read, and held against its truth.

A file that cannot be read is a failure, unless its truth says that a refusal with a clear word is as good.
"""

import re
from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest

from app.files.readers.answer import NOT_KNOWN, ReadError, ReadOutline, above_axle
from app.files.readers.imported import findings
from app.files.readers.read import read_outline
from tests.corpus.answers import answered, bare, chains, laid, read, said, settled, shifts, without_unit
from tests.corpus.compare import Compared, compared
from tests.corpus.shapes import Chain, area, contains
from tests.corpus.truth import FILES, Truth, truths
from tests.support.one_of import one_of

TRUTHS = truths()

#: What a stated unit may be called: the nearest of those that the program converts.
CALLED = {"ft": ("ft", "in"), "pt": ("pt", "in")}

#: Other words that say what a truth's pattern looks for.
SAME = {
    r"(?i)double|twice|duplicate|stacked|cover": "more than once",
    r"(?i)double|overlap|duplicate|stacked|cover": "more than once",
    r"(?i)external|reference|xref|missing|HOUSING": "in another file",
}

#: Words by which a question is put, where the answer has no field of its own for it.
PUT = {
    "zero": r"(?i)origin|zero|below the axle|off the axle",
    "axle": r"(?i)axle",
    "mirror": r"(?i)mirror|image|half",
    "gaps": r"(?i)--join|open by|gap",
    "height": r"(?i)height|elevation|plane",
    "extent": r"(?i)open|end",
    "scale": r"(?i)scale|dimension|text",
    "columns": r"(?i)column|named|taken as",
    "probe": r"(?i)ball|probe",
    "open": r"(?i)open|hole|not closed",
}


#: Two of three files are left to releases, the formats and their defects taking turns.
PARAMS = one_of(3, TRUTHS.values(), lambda truth: truth.file)


@pytest.fixture(scope="module", params=PARAMS)
def truth(request: pytest.FixtureRequest) -> Truth:
    """A file's truth; of the module, so that all tests of one file follow each other and read it once."""
    found: Truth = request.param
    return found


def usable(truth: Truth) -> ReadOutline | None:
    """The answer to a file with all questions answered; None where a refusal is as good and was given."""
    found = settled(truth)
    trouble = str(found) if isinstance(found, ReadError) else _trouble(found, truth)
    if not trouble:
        assert isinstance(found, ReadOutline)
        return found
    if truth.may_refuse and re.search(truth.may_refuse, trouble):
        return None
    pytest.fail(f"not read: {trouble}")


def _trouble(found: ReadOutline, truth: Truth) -> str:
    if not truth.closed:
        return "" if found.open or found.loops else "neither outline nor open chain"
    try:
        found.usable_loops_mm()
    except ReadError as error:
        return str(error)
    return ""


def wanted(found: ReadOutline, truth: Truth) -> tuple[list[Chain], list[Chain], Compared]:
    """The read chains that should be the true ones, all others, and how the first lie: the best shift."""
    best: tuple[list[Chain], list[Chain], Compared] | None = None
    for shift in shifts(truth, found):
        loops = [laid(loop, truth, shift) for loop in chains(found.loops if truth.closed else found.open)]
        mine, others = _chosen(loops, found, truth)
        if not mine:
            continue
        fine = max(1e-7, min(truth.tol_in_mm, truth.tol_out_mm) / 20.0)
        here = compared(mine, truth.outlines, truth.closed, fine)
        if best is None or here.hausdorff_mm < best[2].hausdorff_mm:
            best = mine, others, here
    assert best is not None, f"no outline where {truth.options.inside} lies; {len(found.loops)} in all"
    return best


def _chosen(loops: list[Chain], found: ReadOutline, truth: Truth) -> tuple[list[Chain], list[Chain]]:
    inside = truth.options.inside
    if inside is None:
        # What lies in another outline adds nothing to the area.
        outer = [k for k in range(len(loops)) if not truth.closed or not found.within or found.within[k] < 0]
        return [loops[k] for k in outer], [loops[k] for k in range(len(loops)) if k not in outer]
    around = [loop for loop in loops if contains(loop, inside)]
    mine = min(around, key=lambda loop: abs(area(loop)), default=None)
    return ([] if mine is None else [mine]), [loop for loop in loops if loop is not mine]


# The outline


def test_outline_is_the_true_one(truth: Truth) -> None:
    found = usable(truth)
    if found is None:
        return
    assert found.kind == truth.kind
    if truth.closed:
        assert found.unit != NOT_KNOWN
    mine, _, apart = wanted(found, truth)
    inside, outside = truth.tol_in_mm, truth.tol_out_mm
    assert apart.missing.mm <= max(inside, 1e-7), f"SMALLER than the truth: misses {apart.missing}"
    assert apart.inside.mm <= inside, f"SMALLER than the truth: lies inside by {apart.inside}"
    assert apart.outside.mm <= outside, f"larger than the truth: {apart.outside}"
    assert apart.beyond.mm <= max(inside, outside), f"a part is filled: {apart.beyond}"
    assert len(mine) == len(truth.outlines)


def test_nothing_else_is_read(truth: Truth) -> None:
    """Every closed outline that is handed back stands in the file; outlines of the file are not lost."""
    found = usable(truth)
    if found is None or not truth.closed:
        return
    mine, others, _ = wanted(found, truth)
    fine = max(1e-7, min(truth.tol_in_mm, truth.tol_out_mm) / 20.0)
    known = [*truth.outlines, *truth.other_outlines]
    tol = max(truth.tol_in_mm, truth.tol_out_mm)
    for loop in others:
        nearest = min(compared([loop], [chain], True, fine).hausdorff_mm for chain in known)
        assert nearest <= tol, (
            f"an outline of {len(loop)} pieces is not in the file: {loop[:3]}, off {nearest:g}"
        )
    assert len(mine) + len(others) == len(known)


def test_unit_is_stated_or_asked_for(truth: Truth) -> None:
    """The unit is taken from the file where it states a plausible one, and otherwise stays open."""
    for request in (bare(truth), without_unit(truth)):
        found = read(truth.file, request)
        if isinstance(found, ReadError):
            assert truth.may_refuse, f"not read: {found}"
            assert re.search(truth.may_refuse, str(found)), f"not read: {found}"
        elif "unit" in truth.questions:
            assert found.unit == NOT_KNOWN, f"taken as {found.unit} without a question"
            with pytest.raises(ReadError, match="--unit"):
                found.usable_loops_mm()
        else:
            stated = CALLED.get(truth.unit_stated or "", (truth.unit_stated,))
            assert found.unit in stated, f"{found.unit}, {found.unit_doubt}"


def test_counts_are_the_true_ones(truth: Truth) -> None:
    found = usable(truth)
    if found is None:
        return
    for name, count, known in (
        ("joined", found.joined, truth.joined),
        ("doubles", found.doubles, truth.doubles),
    ):
        assert known is None or known[0] <= count <= known[1], f"{name}: {count}, in truth {known}"
    skipped: Counter[str] = Counter()
    for what, count in found.skipped.items():
        skipped[what.split()[0].upper()] += count
    for kind, count in truth.skipped.items():
        # The truth counts on the layers taken; a reader may count on all.
        there = skipped[kind.upper()]
        right = there >= count if truth.options.layers else there == count
        assert right, f"{kind}: {count} skipped in truth; said {found.skipped}"
    # Whatever was left out is named in the words that a person reads.
    words = " | ".join(findings(found))
    for what, count in found.skipped.items():
        assert f"{count} {what}" in words


def test_what_is_open_is_asked(truth: Truth) -> None:
    if usable(truth) is None:
        return
    first, asked = read(truth.file, bare(truth)), settled(truth)
    missing = [question for question in truth.questions if not _is_put(question, first, asked)]
    assert not missing, f"not asked: {missing}; said {said(first, asked)!r}"


def _is_put(question: str, first: ReadOutline | ReadError, asked: ReadOutline | ReadError) -> bool:
    """Whether a question is put; of what the answers settle, by the first reading alone."""
    if isinstance(first, ReadOutline):
        shown = {
            "unit": first.unit == NOT_KNOWN,
            "outline": len(first.loops) > 1,
            "sheet": len(first.sheets) > 1,
            "bodies": len(first.bodies) > 1,
            "open": any(not body.is_closed for body in first.bodies),
        }
        if shown.get(question, False):
            return True
    answers = (first,) if question in ("mirror", "gaps") else (first, asked)
    return question in PUT and re.search(PUT[question], said(*answers)) is not None


def test_what_should_be_said_is_said(truth: Truth) -> None:
    words = said(read(truth.file, bare(truth)), settled(truth))
    for pattern in truth.warnings:
        same = SAME.get(pattern, pattern)
        assert re.search(pattern, words) or re.search(same, words), f"{pattern!r} is not in {words!r}"


@pytest.mark.parametrize("side", ["nearest", "inward"])
@pytest.mark.parametrize(
    "truth",
    [t for t in TRUTHS.values() if t.kind == "drawing" and t.tol_out_mm == 0.0055],
    ids=lambda t: t.file,
)
def test_curves_on_the_other_sides(truth: Truth, side: str) -> None:
    """Replaced within 0.005 mm: on both sides, or inward alone; the truth itself is known within 0.0005."""
    found = read(truth.file, replace(answered(truth), side=side))
    assert isinstance(found, ReadOutline)
    _, _, apart = wanted(found, truth)
    assert apart.inside.mm <= 0.0055
    assert apart.outside.mm <= (0.0055 if side == "nearest" else 0.0005)
    assert max(apart.missing.mm, apart.beyond.mm) <= 0.0055


# Through the real child

THROUGH_CHILD = (
    "unit_missing.dxf",
    "unit_header_inch_drawn_mm.dxf",
    "block_mirrored_arcs.dxf",
    "gaps_0_2.dxf",
    "doubles_stacked.dxf",
    "frame_and_title.dxf",
    "half_about_zero.dxf",
    "spline_r2018.dxf",
    "binary.dxf",
    "svg_inch.svg",
    "svg_transforms_nested.svg",
    "svg_cubic.svg",
    "table_semicolon_decimal_comma.csv",
    "table_utf16.csv",
    "xlsx_two_sheets.xlsx",
    "points_xyz.xyz",
    "points_ball_centres.csv",
    "stl_flat_top.stl",
    "stl_fragments.stl",
    "obj_polygons.obj",
    "ply_ascii.ply",
    "3mf_inch.3mf",
)


@pytest.mark.parametrize("name", THROUGH_CHILD)
def test_child_reads_the_same(name: str) -> None:
    truth = TRUTHS[name]
    request = answered(truth)
    direct = read(name, request)
    assert isinstance(direct, ReadOutline), str(direct)
    how = {key: value for key, value in vars(request).items() if key != "suffix"}
    assert read_outline(FILES / name, **how) == replace(direct, file_name=name)


def test_every_suffix_of_the_corpus_goes_through_the_child() -> None:
    assert {Path(name).suffix for name in THROUGH_CHILD} >= {Path(name).suffix for name in TRUTHS} - {
        ".asc",
        ".txt",
    }


@pytest.mark.long
def test_read_outline_can_be_laid_above_the_axle() -> None:
    """The frame of a truth is the hub's: nothing that was laid into it is refused."""
    for truth in TRUTHS.values():
        found = settled(truth)
        if isinstance(found, ReadOutline) and truth.closed and not _trouble(found, truth):
            mine, _, _ = wanted(found, truth)
            above_axle(tuple(tuple(loop) for loop in mine), truth.file)
