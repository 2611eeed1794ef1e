"""Tyre sizes: what a text says, and widths, diameters and loads against published figures.

T-numbers are rows of the list of outside checks; the source stands beside each.
"""

from __future__ import annotations

import pytest

from app.project.tyres import (
    TyreError,
    TyreSize,
    approved_rims,
    choice_words,
    common_sizes,
    exact_section_width_mm,
    is_few,
    least_index,
    load_of_index_kg,
    measuring_rim_code,
    overall_diameter_mm,
    parse_tyre,
    section_width_mm,
    sizes_of_width,
    static_loaded_radius_mm,
)
from geometry.shape.published import Status

# Reading


@pytest.mark.parametrize(
    ("text", "size"),
    [
        ("265/35R18", TyreSize(265, 35, 18.0)),
        ("265/35 R 18 97Y", TyreSize(265, 35, 18.0, 97, "Y")),
        ("245/40ZR18", TyreSize(245, 40, 18.0)),
        ("245/40ZR18 (93Y) XL", TyreSize(245, 40, 18.0, 93, "Y")),
        (" 205 / 55 r16 91v ", TyreSize(205, 55, 16.0, 91, "V")),
        ("P225/45R17 91", TyreSize(225, 45, 17.0, 91)),
        ("305/30R20 103W extra load", TyreSize(305, 30, 20.0, 103, "W")),
    ],
)
def test_a_size_is_read(text: str, size: TyreSize) -> None:
    assert parse_tyre(text) == size


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "is not a tyre size: write width/aspect"),
        ("wide", "is not a tyre size: write width/aspect"),
        ("265-35-18", "is not a tyre size: write width/aspect"),
        ("265/35R18 and more", "is not a tyre size: write width/aspect"),
        ("265/35R18 97Y 98Y", "is not a tyre size: write width/aspect"),
        ("260/35R18", "the section width is 260, but lies between 125 and 405 and ends in 5"),
        ("2655/35R18", "the section width is 2655"),
        ("265/37R18", "the aspect is 37, but lies between 20 and 85 and is a multiple of 5"),
        ("265/95R18", "the aspect is 95"),
        ("265/35R18.5", "the rim diameter is 18.5, but lies between 10 and 26 and is a whole code"),
        ("265/35R35", "the rim diameter is 35"),
        ("LT265/70R17", "is no car tyre of radial make"),
        ("225/45-17", "is no car tyre of radial make"),
    ],
)
def test_nonsense_is_refused_with_what_is_wrong(text: str, words: str) -> None:
    with pytest.raises(TyreError) as raised:
        parse_tyre(text)
    assert words in str(raised.value)


def test_a_size_reads_back() -> None:
    for size in common_sizes():
        assert parse_tyre(str(size)) == size


# Published figures


@pytest.mark.parametrize(("index", "kg"), [(91, 615), (97, 730), (100, 800), (108, 1000)])
def test_t29_load_of_an_index(index: int, kg: float) -> None:
    """T29, published: load-index table."""
    assert load_of_index_kg(index) == kg


def test_loads_rise_and_end_with_the_table() -> None:
    """First and last row of the load-index table: 80 is 450 kg, 110 is 1060 kg."""
    loads = [load_of_index_kg(k) or 0.0 for k in range(80, 111)]
    assert loads[0] == 450.0
    assert loads[-1] == 1060.0
    assert sorted(set(loads)) == loads
    assert load_of_index_kg(79) is None
    assert load_of_index_kg(111) is None
    assert least_index(615.0) == 91
    assert least_index(615.1) == 92
    assert least_index(1060.1) is None


def test_t30_overall_diameter() -> None:
    """T30, published: trade formula, 25.72 in on a public page."""
    assert overall_diameter_mm(parse_tyre("245/40R18")) == pytest.approx(653.2, abs=0.05)
    assert overall_diameter_mm(parse_tyre("245/40R18")) / 25.4 == pytest.approx(25.72, abs=0.005)


@pytest.mark.parametrize(
    ("text", "rim", "width"), [("245/40R18", 8.5, 248), ("205/55R16", 6.5, 214), ("225/45R17", 7.5, 225)]
)
def test_t31_t32_section_width_on_a_rim(text: str, rim: float, width: float) -> None:
    """T31 and T32: formula of UN R30 6.1.1.1; the shares 0.85 and 0.70 from a public listing."""
    assert section_width_mm(parse_tyre(text), rim) == width


def test_t33_half_a_code_of_rim_is_five_millimetres_of_tyre() -> None:
    """T33: UN R30; a tyre importer's page says 'about 5'."""
    size = parse_tyre("245/40R18")
    step = exact_section_width_mm(size, 9.0) - exact_section_width_mm(size, 8.5)
    assert step == pytest.approx(5.08, abs=0.01)


@pytest.mark.parametrize(("text", "rim"), [("195/65R15", 6.0), ("225/45R17", 7.5), ("265/35R18", 9.5)])
def test_t34_measuring_rim(text: str, rim: float) -> None:
    """T34: K2 of a public listing of tyre formulas."""
    assert measuring_rim_code(parse_tyre(text)) == rim


def test_t35_t36_approved_rims() -> None:
    """T35: a tyre-size page that quotes the ETRTO manual. T36: from memory."""
    published, remembered = approved_rims(parse_tyre("195/65R15 91H")), approved_rims(parse_tyre("245/40R18"))
    assert published is not None
    assert remembered is not None
    assert (published.low, published.high, published.status) == (5.5, 7.0, Status.SECONDARY)
    assert (remembered.low, remembered.high, remembered.status) == (8.0, 9.5, Status.MEMORY)
    assert approved_rims(parse_tyre("395/30R18")) is None


#: Rows of the handbook's table of tyres: measuring rim, S on it, H, overall diameter, static loaded radius.
#: Computed there with the rules above, by hand; 225/65R17's measuring rim is a page's own figure.
HANDBOOK = """
185/60R14 5.5 189 111.0 577.6 264
195/65R15 6.0 201 126.8 634.5 289
205/55R16 6.5 214 112.8 631.9 291
215/45R17 7.0 213 96.8 625.3 291
225/65R17 6.5 228 146.2 724.3 330
235/45R17 8.0 236 105.8 643.3 298
255/40R17 9.0 260 102.0 635.8 295
245/45R18 8.0 243 110.2 677.7 315
275/35R18 9.5 278 96.2 649.7 304
295/30R18 10.5 301 88.5 634.2 298
285/35R19 10.0 290 99.8 682.1 319
305/30R19 11.0 313 91.5 665.6 313
305/30R20 11.0 313 91.5 691.0 325
"""


@pytest.mark.parametrize("row", HANDBOOK.split("\n")[1:-1])
def test_the_formulas_give_the_handbooks_rows(row: str) -> None:
    text, *numbers = row.split()
    rim, width, height, diameter, radius = map(float, numbers)
    size = parse_tyre(text)
    assert measuring_rim_code(size) == rim
    assert section_width_mm(size, rim) == width
    assert size.height_mm == pytest.approx(height, abs=0.051)
    assert overall_diameter_mm(size) == pytest.approx(diameter, abs=0.051)
    assert static_loaded_radius_mm(size) == pytest.approx(radius, abs=0.51)


def test_every_approved_range_holds_its_measuring_rim() -> None:
    """A tyre may be mounted on the rim it is measured on."""
    assert len(common_sizes()) == 37  # rows of the handbook's table
    for size, rims in common_sizes().items():
        assert rims.low <= measuring_rim_code(size) <= rims.high, size


def test_the_choice_in_another_diameter() -> None:
    """Counted by eye in the handbook's table: 245 wide is 1 in 17, 2 in 18, 1 in 19, 1 in 20."""
    counts = [len(sizes_of_width(245, code)) for code in (16, 17, 18, 19, 20)]
    assert counts == [0, 1, 2, 1, 1]
    assert choice_words(245, 18) == "2 in 18 (245/40R18, 245/45R18)"
    assert choice_words(245, 16) == "none in 16"
    assert not is_few(245, 18)
    assert is_few(245, 19)
