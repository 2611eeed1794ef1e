"""`blankwright blank` as a person types it: text, JSON, files, and what is refused."""

from __future__ import annotations

import json
import math
import re
from dataclasses import replace
from pathlib import Path

import ezdxf.filemanagement
import ezdxf.path
import numpy as np
import pypdf
import pytest
import shapely

from app import resources
from app.cli.command_line import main
from app.files.project_file import load, save
from app.project.caution import CAUTION
from app.studies.composite import composite
from app.studies.fit import measure_wheel
from app.studies.forging_needs import ForgingSettings
from app.studies.found_blank import as_variant
from app.studies.mixed_diameters import OneDiameter, mixed_words
from geometry.forging.presses import Press
from geometry.shape.blank import ToolLimits
from geometry.shape.curve import Path as Outline
from tests.support import example
from tests.support.kept import forget_sums_of_pages


@pytest.fixture
def project(tmp_path: Path) -> Path:
    path = tmp_path / "track.blankwright"
    save(example.project(), path)
    return path


def run(*words: str | Path) -> int:
    return main(["blank", *map(str, words)])


def test_text_says_mass_proof_wheels_and_press(project: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(project, "--wheel", example.WHEEL, "--stock", "3") == 0
    said = capsys.readouterr().out
    assert said.startswith(f"Smallest forgeable blank of {example.WHEEL}: ")
    for words in ("(proven)", "where the kilograms are", "last press", "starting values", CAUTION):
        assert words in said


def test_an_inch_project_is_told_pounds_and_short_tons(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A pound is 0.45359237 kg (1959), a short ton 2,000 pounds-force, so that 1 MN is 112.404 of them."""
    path = tmp_path / "inch.blankwright"
    save(replace(example.project(), display_unit="in"), path)
    asked = (path, "--wheel", example.WHEEL, "--stock", "3")
    assert run(*asked, "--json") == 0
    values = json.loads(capsys.readouterr().out)
    pages = tmp_path / "inch.pdf"
    assert run(*asked, "--out", pages) == 0
    said = capsys.readouterr().out
    kg, tons = values["mass_kg"], values["flow_mn"] * 112.404
    assert f", {kg / 0.45359237:.2f} lb ({kg:.2f} kg) of it usable" in said
    assert f"last press: {values['flow_mn']:.0f} MN ({tons:.0f} short tons)" in said
    assert "where the pounds are" in said
    assert "chips lb" in said
    # A square inch is 6.4516 cm2, a ksi 6.894757 MPa (NIST SP 811, appendix B).
    step = values["plan"][0]
    assert said.split("\n  flat upset ")[1].split()[2:6] == [
        f"{step['diameter_mm'] / 25.4:.3f}",
        f"{step['height_mm'] / 25.4:.3f}",
        f"{step['area_cm2'] / 6.4516:.0f}",
        f"{step['stress_mpa'] / 6.894757:.2f}",
    ]
    assert f"{step['load_mn'][0] * 112.404:.0f} to {step['load_mn'][1] * 112.404:.0f} " in said
    assert f"({step['capacity_mn'] * 112.404:.0f} short tons)" in said
    # Its pages have the same plan.
    plan = next(text for text in pages_of(pages) if "Forging plan" in text)
    plan = plan[plan.index("Forging plan") :]
    assert f"{step['area_cm2'] / 6.4516:.0f}" in plan
    assert f"{step['stress_mpa'] / 6.894757:.2f}" in plan
    assert f"{step['load_mn'][0] * 112.404:.0f} to {step['load_mn'][1] * 112.404:.0f}" in plan
    assert all(unit in plan for unit in ("in²", "ksi", "short tons"))
    assert not any(unit in plan for unit in ("cm²", "MPa", " MN"))
    # 4.60 a kg is 2.09 a lb.
    section = said[said.index("chips, time, money") :]
    assert "loss at 2.09 a lb or 4.60 a kg" in section
    assert "volume  chips lb" in section
    assert " kg " not in section.replace("a kg ", "").replace(" kg)", "")


def test_wheels_of_several_diameters_are_told_in_pounds() -> None:
    found = (OneDiameter(17.0, 40.0, 2.0), OneDiameter(18.0, 41.0, 1.0))
    assert "17 in 88.18 lb, +4.41 lb a wheel here; 18 in 90.39 lb" in mixed_words(found, "lb")
    assert "17 in 40.00 kg, +2.00 kg a wheel here" in mixed_words(found)


def test_json_is_what_its_page_says(project: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(project, "--wheel", example.WHEEL, "--stock", "3 mm", "--json") == 0
    found = json.loads(capsys.readouterr().out)
    assert found["format"] == 1
    assert found["bound_kg"] <= found["mass_kg"]
    assert found["press_mn"] == sorted(found["press_mn"])
    (wheel,) = found["wheels"]
    assert (wheel["name"], wheel["seat_mm"], wheel["costs_others_kg"]) == (example.WHEEL, 0.0, None)
    assert wheel["chips_kg"] == pytest.approx(found["to_draw"]["mass_kg"] - wheel["mass_kg"])
    log = found["log"]
    volume = math.pi / 4.0 * log["diameter_mm"] ** 2 * log["length_mm"]
    assert log["mass_kg"] == pytest.approx(volume * example.project().materials[0].density_kg_m3 * 1e-9)
    # The outlines' volumes by Pappus's theorem on a fine polygon.
    density = example.project().materials[0].density_kg_m3
    for of in (found, found["to_draw"]):
        points = Outline.closed(of["outline"]).flattened(1e-5)
        total = 0.0
        for (z0, r0), (z1, r1) in zip(points, [*points[1:], points[0]], strict=True):
            total -= (z1 - z0) * (r0 * r0 + r0 * r1 + r1 * r1) / 3.0
        assert abs(total) * math.pi * density * 1e-9 == pytest.approx(of["mass_kg"], rel=1e-5)


def test_dxf_holds_blank_wheel_and_parting(project: Path, tmp_path: Path) -> None:
    out = tmp_path / "blank.dxf"
    assert run(project, "--wheel", example.WHEEL, "--stock", "3", "--out", out) == 0
    drawn = ezdxf.filemanagement.readfile(out)
    layers = {e.dxf.layer for e in drawn.modelspace()}
    assert {"BLANK", f"WHEEL {example.WHEEL}", "PARTING", "NOTES"} <= layers
    texts = [text.plain_text() for text in drawn.modelspace().query("TEXT MTEXT")]  # type: ignore[attr-defined]
    words = " ".join(texts)
    assert "draft 1 deg outside, 2 inside" in words


def test_the_log_holds_the_metal_of_the_outline_as_forged(
    project: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """By Pappus on the drawing's own outlines: 2 pi times area times the centroid's radius."""
    drawing = tmp_path / "blank.dxf"
    asked = (project, "--wheel", example.WHEEL, "--stock", "3", "--log", "229")
    assert run(*asked, "--out", drawing) == 0
    assert "as forged" in capsys.readouterr().out
    assert run(*asked, "--json") == 0
    found = json.loads(capsys.readouterr().out)
    space = ezdxf.filemanagement.readfile(drawing).modelspace()
    volumes = {}
    for layer in ("BLANK", "USABLE"):
        (outline,) = space.query(f'LWPOLYLINE[layer=="{layer}"]')
        corners = [(v.x, v.y) for v in ezdxf.path.make_path(outline).flattening(0.001)]
        area = shapely.Polygon(corners)
        volumes[layer] = 2.0 * math.pi * area.area * area.centroid.y
    grown = volumes["BLANK"] / volumes["USABLE"]
    assert grown > 1.05
    assert found["to_draw"]["mass_kg"] == pytest.approx(grown * found["mass_kg"], rel=1e-4)
    log = found["log"]
    assert log["mass_kg"] == pytest.approx(1.08 * found["to_draw"]["mass_kg"], rel=1e-9)  # 8 % loss
    metal_mm3 = math.pi / 4.0 * log["diameter_mm"] ** 2 * log["length_mm"]
    assert metal_mm3 == pytest.approx(1.08 * volumes["BLANK"], rel=1e-4)


def test_a_blank_is_added_to_a_project_and_its_wheels_are_cut_from_it(
    project: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = (project, "--wheel", example.WHEEL, "--stock", "3")
    assert run(*asked, "--out", project, "--name", "Group A") == 0
    assert "no wheel is cut from it" in capsys.readouterr().out
    found = load(project)
    assert found.blanks[-1].name == "Group A"
    assert "smallest forgeable blank" in found.blanks[-1].source
    assert found.wheels == example.project().wheels
    assert run(*asked, "--out", project, "--name", "Group A", "--cut") == 0
    again = load(project)
    assert len({b.name for b in again.blanks}) == len(found.blanks) + 1
    (wheel,) = again.wheels
    assert wheel.blank == again.blanks[-1].name != "Group A"
    # A project that exists and lacks the wheel says so, and is left as it is.
    other = tmp_path / "other.blankwright"
    save(replace(again, wheels=()), other)
    before = other.read_bytes()
    assert run(*asked, "--out", other, "--cut") == 2
    assert example.WHEEL in capsys.readouterr().err
    assert other.read_bytes() == before


def test_a_new_project_holds_the_groups_wheels_in_the_found_blank(project: Path, tmp_path: Path) -> None:
    out = tmp_path / "group.blankwright"
    assert run(project, "--wheel", example.WHEEL, "--stock", "3", "--out", out) == 0
    made = load(out)
    (wheel,) = made.wheels
    assert wheel.blank == made.blanks[-1].name
    measured = measure_wheel(made, wheel).measurements
    assert measured is not None
    # By the editor's own reading the stock that was asked is there with all missing that may be, and at its
    # least no more than finding the usable outline takes.
    assert 3.0 <= min(row.least_mm for row in measured.stock) <= 3.05
    assert made.blanks[-1].tolerances != ()
    plain = tmp_path / "plain.blankwright"
    stocked = ("--wheel", example.WHEEL, "--stock", "3", "--missing", "in-stock")
    assert run(project, *stocked, "--out", plain) == 0
    held = load(plain)
    assert held.blanks[-1].tolerances == ()
    measured = measure_wheel(held, held.wheels[0]).measurements
    assert measured is not None
    assert min(row.least_mm for row in measured.stock) == pytest.approx(3.0, abs=1e-5)
    # All else that the wheel names came along: the file is read and reads as before.
    assert (made.rule_sets, made.materials, made.shapes) == (
        example.project().rule_sets,
        example.project().materials,
        example.project().shapes,
    )


def test_the_found_blank_is_held_against_tools(
    project: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    owner = example.project().blanks[0].name
    asked = (project, "--wheel", example.WHEEL, "--stock", "3", "--tools", owner)
    assert run(*asked, "--json") == 0
    found = json.loads(capsys.readouterr().out)
    assert found["tools"]["of"] == owner
    charge = next(c for c in found["tools"]["checks"] if c["what"] == "charge")
    # The outline to draw holds what may be missing as well.
    assert charge["value"] > found["mass_kg"]
    house = tmp_path / "house.pdf"
    assert run(*asked, "--out", house) == 0
    said = capsys.readouterr().out
    assert f"the tools of {owner}" in said
    assert f"    {charge['answer']}: charge: {charge['value']:.2f} kg" in said
    assert "Tools we have" in "\n".join(pages_of(house))
    assert run(*asked[:-1], "no such blank") == 2
    assert f"those with tools: {owner}" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--draft", "0,2"), "outside draft is 0 degrees"),
        (("--draft", "1"), "two numbers of degrees"),
        (("--draft", "2,90"), "inside draft is 90 degrees"),
        (("--fillet", "900"), "fillet radius is 900"),
        (("--stock", "-1"), "must be from 0 to 100"),
        (("--stock", "500"), "stock is 500 mm"),
        (("--stock", "a lot"), "a lot"),
        (("--out", "blank.png"), "blank.png"),
        (("--log", "0"), "diameter is 0"),
    ],
)
def test_bad_words_are_named(
    project: Path, capsys: pytest.CaptureFixture[str], words: tuple[str, str], says: str
) -> None:
    assert run(project, "--wheel", example.WHEEL, *words) == 2
    said = capsys.readouterr().err
    assert says in said
    assert said.count("\n") == 1


def test_a_wheel_that_is_not_there(project: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(project, "--wheel", "absent") == 2
    assert "absent" in capsys.readouterr().err


def pages_of(path: Path) -> list[str]:
    return [page.extract_text() for page in pypdf.PdfReader(path).pages]


def test_pages_hold_drawing_plan_and_money_and_the_forges_copy_none_of_it(
    project: Path, tmp_path: Path
) -> None:
    house, forge = tmp_path / "house.pdf", tmp_path / "forge.pdf"
    ask = (project, "--wheel", example.WHEEL, "--stock", "3", "--name", "Blank X")
    assert run(*ask, "--out", house) == 0
    assert run(*ask, "--corner", "6", "--out", forge, "--for-forge") == 0
    inside, outside = "\n".join(pages_of(house)), "\n".join(pages_of(forge))
    for words in (
        "Blank X: forging drawing",
        "Forging plan",
        "flat upset",
        "Tolerances asked about",
        CAUTION,
    ):
        assert words in inside
        assert words in outside
    for words in ("Asked of the forge", "Die ownership", "corners R6"):
        assert words in outside
    for words in ("Chips, time and money", "Costs the others", "Where the kilograms are"):
        assert words in inside
        assert words not in outside
    # Practice 33: the numbers of the pack, by the outline of the same answer (Pappus; 2712.6 kg/m3).
    out = house.with_suffix(".csv")
    assert run(*ask, "--out", out) == 0
    rows = [
        [float(x) for x in line.split(",")]
        for line in out.read_text().splitlines()
        if line[:1] in "-0123456789"
    ]
    half = shapely.Polygon(Outline.closed(rows).flattened(1e-3))
    z0, _, z1, rim = half.bounds
    volume = 2.0 * math.pi * half.centroid.y * half.area
    said = inside.replace("\n", " ")
    for name, value, digits in (
        (r"Volume as forged (\S+) cm", volume / 1000.0, 0.1),
        (r"Mass as forged (\S+) kg", volume * 2712.6e-9, 0.01),
        (r"without flash (\S+) mm", math.pi * rim**2, 1.0),
        (r"diameter, height (\S+),", 2.0 * rim, 0.01),
        (r"height \S+, (\S+)", z1 - z0, 0.01),
    ):
        (found,) = re.findall(name, said)
        assert float(found) == pytest.approx(value, abs=1.01 * digits)
    # The same bytes for the same input, worked out anew.
    first = house.read_bytes()
    forget_sums_of_pages()
    assert run(*ask, "--out", house) == 0
    assert house.read_bytes() == first


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--stock", "3", "--stock-set", "new die"), "leave one of them out"),
        (("--stock-set", "none"), "no set of stock 'none'"),
        (("--stock", "3", "--window", "Track 18"), "is no window"),
        (("--stock", "3", "--press", "A"), "is no press"),
        (("--stock", "3", "--press", "A:90:width=3"), "'width=3' is not known; there are daylight, stroke"),
        (("--stock", "3", "--headroom", "top=3"), "give ring, bore, face, hub, outside"),
        (("--stock", "3", "--proved", "88"), "is no proof"),
    ],
)
def test_what_cannot_be_read_says_how_to_write_it(
    words: tuple[str, ...], said: str, project: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(project, "--wheel", example.WHEEL, *words) == 2
    assert said in capsys.readouterr().err


def test_presses_of_the_project_are_taken_and_a_bed_that_is_too_narrow_is_said(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "presses.blankwright"
    save(replace(example.project(), presses=(Press("ours", 95.0, bed_mm=600.0),)), path)
    asked = (path, "--wheel", example.WHEEL, "--stock", "3", "--json")
    assert run(*asked) == 0
    plan = json.loads(capsys.readouterr().out)["plan"]
    assert {step["press"] for step in plan} == {"ours"}
    # Steel of 80 stands round the flash.
    wide = plan[-1]["diameter_mm"] + 160.0
    assert f"dies {wide:.1f} mm across do not stand on a bed of 600.0 mm" in plan[-1]["refused"]
    assert f"{wide - 600.0:.1f} mm too wide" in plan[-1]["refused"]
    assert run(*asked, "--press", "other:95:6:bed=40in:stroke=900") == 0
    assert json.loads(capsys.readouterr().out)["plan"][-1]["refused"] is None


def test_a_found_blank_is_added_as_a_variant_only_within_the_forges_limits(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The tools are those of the same wheel's own blank, drawn to the starting tolerances."""
    path, out = tmp_path / "tools.blankwright", tmp_path / "out.blankwright"
    save(example.project(), path)
    asked = ("--wheel", example.WHEEL, "--stock", "3")
    assert run(path, *asked, "--name", "ours", "--out", out) == 0
    held = load(out)
    (ours,) = (b for b in held.blanks if b.name == "ours")
    found = composite(held, [example.WHEEL], ForgingSettings(stock_mm=3.0))
    drawn = replace(
        as_variant(ours, found, ForgingSettings(stock_mm=3.0), ours), name="tools", variant_of=None
    )
    save(replace(held, blanks=(*held.blanks, drawn)), path)
    more = (path, *asked, "--tools", "tools", "--name", "ours again", "--variant", "--out", path)
    assert run(*more) == 2
    assert "not within the limits of the tools of tools" in capsys.readouterr().err
    mass = found.mass_kg
    given = ToolLimits(mass - 9.0, mass + 20.0, -2.0, 2.0, 10.0, 60.0, True)
    save(replace(held, blanks=(*held.blanks, replace(drawn, tools=given))), path)
    assert run(*more) == 0
    (variant,) = (b for b in load(path).blanks if b.name == "ours again")
    assert variant.variant_of == "tools"
    assert variant.tolerances == drawn.tolerances
    for corner, of in zip(variant.corners, drawn.corners, strict=True):
        assert (corner.z, corner.r) == pytest.approx((of.z, of.r), abs=1e-6)
    assert run(path, *asked, "--variant", "--out", path) == 2
    assert "with --tools" in capsys.readouterr().err


def test_a_thick_log_and_the_temperature_are_said(project: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """EN 603-3 goes up to 320 mm; 6061 is forged up to 900 F, 482 C."""
    asked = (project, "--wheel", example.WHEEL, "--stock", "3", "--json")
    assert run(*asked, "--log", "400", "--temperature", "490") == 0
    hot = json.loads(capsys.readouterr().out)
    assert any("400.0 mm is thicker than" in w and "320.0 mm (EN 603-3)" in w for w in hot["warnings"])
    assert any("399 to 482" in w for w in hot["warnings"])
    assert run(*asked) == 0
    usual = json.loads(capsys.readouterr().out)
    assert hot["plan"][-1]["stress_mpa"] < usual["plan"][-1]["stress_mpa"]
    assert not any("EN 603-3" in w or "482" in w for w in usual["warnings"])
    assert run(*asked, "--temperature", "510") == 2
    assert "from 400 to 500" in capsys.readouterr().err


def test_json_holds_plan_corner_and_windows(project: Path, capsys: pytest.CaptureFixture[str]) -> None:
    window = f"{example.WHEEL}:32:38"
    options = ("--corner", "6", "--window", window, "--press", "one:80", "--proved", "60:2000", "--json")
    assert run(project, "--wheel", example.WHEEL, "--stock", "3", *options) == 0
    found = json.loads(capsys.readouterr().out)
    assert [step["step"] for step in found["plan"]] == ["flat upset", "blocking", "finishing"]
    assert {step["press"] for step in found["plan"]} == {"one"}
    low, high = found["corner"]["band_kg"]
    assert low < high == found["mass_kg"]
    # Sizes, plan and ladder are of the outlines in the same answer: those of the forging of the larger.
    drawn = Outline.closed(found["to_draw"]["outline"]).bounds
    outline = shapely.Polygon(Outline.closed(found["outline"]).flattened(1e-3))
    z0, _, z1, rim = outline.bounds
    z, r = found["parting"]
    assert r == pytest.approx(rim, abs=1e-2)
    assert outline.exterior.distance(shapely.Point(z, r)) < 1e-2
    # The flash is 15 mm wide all round.
    assert found["plan"][-1]["diameter_mm"] == pytest.approx(2.0 * (drawn[3] + 15.0), abs=0.02)
    columns = [shapely.LineString([(z0 - 1, x), (z1 + 1, x)]) for x in np.linspace(0.5, 0.85 * rim, 300)]
    assert found["web_mm"] == pytest.approx(min(outline.intersection(c).length for c in columns), abs=0.05)
    before, last = found["ladder"][-2:]
    assert (before["words"], before["mass_kg"]) == ("corners of the dies' radius, at most", found["mass_kg"])
    assert last["mass_kg"] == found["to_draw"]["mass_kg"]
    # The ladder's money ends at the wheel's own metal and cutting, less its chips.
    (cut,) = found["machining"]["wheels"]
    assert last["money"] == pytest.approx(cut["money"]["metal_and_cutting"], rel=0.05)
    assert not [words for words in found["warnings"] if "Corners" in words]
    (made,) = found["windows"]
    assert made["costs_kg"] >= 0.0
    # 60 MN on 2000 cm2 is 300 MPa, over this blank's area with its flash.
    area = found["plan"][-1]["area_cm2"]
    assert found["proved_mn"] == pytest.approx(60.0 * area / 2000.0)


def test_a_corner_larger_than_the_rings_wall_is_told_with_what_it_costs(
    project: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(project, "--wheel", example.WHEEL, "--stock", "3", "--corner", "60", "--json") == 0
    found = json.loads(capsys.readouterr().out)
    low, high = found["corner"]["band_kg"]
    (said,) = [
        words for words in found["warnings"] if words.startswith("Corners of radius 60.0 mm exceed the wall")
    ]
    assert f"the blank grows by {high - low:.2f} kg" in said
    assert "largest sensible radius" in said


def test_a_spun_ring_whose_volume_jumps_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    """Once its forging was 0.2 kg short of what is spun from it, and nothing was said."""
    asked = ["--spun", "--back-flow", "0", "--reduction", "35", "--ring-wall", "40"]
    project = str(resources.sample("3-gt-19-touching"))
    assert main(["blank", project, "--wheel", "GT 19", *asked]) == 2
    assert "No height of the forged ring gives the volume that is spun" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (("--draft", "-1,2"), "outside draft is -1 degrees; it must be from 0.1 to 45"),
        (("--window", f"{example.WHEEL}:500:600"), "mm outside the flanges of width"),
        (("--window", f"{example.WHEEL}:150:200"), "Ask for insets nearer to the drawn one"),
        (("--parting", "-900,5"), "cannot meet at z -900.50"),
    ],
)
def test_values_far_out_say_what_is_possible(
    project: Path, capsys: pytest.CaptureFixture[str], more: tuple[str, ...], words: str
) -> None:
    """A value may begin with a minus and hold a comma, as elsewhere."""
    assert run(project, "--wheel", example.WHEEL, "--stock", "3", *more) == 2
    assert words in capsys.readouterr().err
