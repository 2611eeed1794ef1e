"""The files held against their truth by other means: ezdxf and scipy for drawings, plain lines for the rest.

Not a test of the program: it finds mistakes of the corpus.
"""

import csv
import io
import re
import zipfile
from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest
import shapely
from scipy.spatial import cKDTree

from tests.corpus import read_back, read_back_mesh
from tests.corpus.read_back import Array, chain_path, completed, distance_to_paths, drawn_paths
from tests.corpus.read_back_mesh import sampled, triangles
from tests.corpus.truth import FILES, UNIT_MM, Truth, truths
from tests.support.one_of import one_of

KNOWN = truths()
FINE = 0.002
"""Both sides are flattened, each by less than a thousandth."""

WITH_STRAYS = {
    "zero_length.dxf",
    "frame_on_same_layer.dxf",
    "dimensions_exploded.dxf",
    "crlf_padded.dxf",
    "axle_line_drawn.dxf",
    "several_inch_block_title_gaps.dxf",
    "several_old_layers_strays.dxf",
}
DRAWN = [t for t in KNOWN.values() if t.file.endswith(".dxf") and t.file != "points_only.dxf"]
MESHES = [t for t in KNOWN.values() if re.search(r"\.(stl|obj|ply|3mf)$", t.file)]


def some(truths: list[Truth]) -> list[Any]:
    """Return a few, since the corpus seldom changes; all of them are tried before a release."""
    return one_of(5, truths, lambda truth: truth.file)


@pytest.mark.parametrize("truth", some(DRAWN))
def test_drawing_holds_its_truth(truth: Truth) -> None:
    """Every place of the outline is drawn; nothing else is but what the truth names, or the strays above."""
    drawn = drawn_paths(FILES / truth.file, truth.options.layers)
    paths = completed([read_back.to_half_plane(path, truth) for path in drawn], truth.options)
    wanted = [chain_path(chain, truth.closed) for chain in truth.outlines]
    named = wanted + [chain_path(chain) for chain in truth.other_outlines]
    within = max(truth.tol_in_mm, truth.tol_out_mm) + FINE
    assert max(distance_to_paths(path, paths).max() for path in named) <= within
    if truth.file not in WITH_STRAYS:
        assert max(distance_to_paths(path, named).max() for path in paths) <= within


@pytest.mark.parametrize("truth", some(MESHES))
def test_body_sweeps_its_truth(truth: Truth) -> None:
    """Random places on the surface lie in the true area and come close to all of its edges."""
    corners = triangles(FILES / truth.file)
    places = read_back_mesh.to_half_plane(sampled(corners, 20_000, 1), truth)
    edges = [chain_path(chain, step_mm=1.0) for chain in truth.outlines]
    swept = shapely.union_all([shapely.Polygon(edge) for edge in edges])
    outside = np.asarray(shapely.distance(swept, shapely.points(places)))
    if truth.options.bodies == "largest":
        # The loose pieces lie elsewhere: what is near is the body, and that is most of it.
        outside = outside[outside < 3.0]
        assert len(outside) > 0.7 * len(places)
    assert outside.max() <= 0.001 + truth.noise_mm
    reached = cKDTree(places).query(np.concatenate(edges))[0].max()
    assert reached <= (truth.tol_in_mm if truth.tol_in_mm > 2.0 else 1.0 + truth.noise_mm)


def is_noise_true(truth: Truth, places: Array, inside_counts: bool) -> None:
    edge = chain_path(truth.outlines[0], truth.closed)
    off = distance_to_paths(places, [edge])
    if inside_counts:
        off = off[~shapely.contains_xy(shapely.Polygon(edge), places)]
    assert (off.max() if len(off) else 0.0) <= truth.noise_mm + FINE
    # No stretch of the profile is without points.
    assert cKDTree(places).query(edge)[0].max() <= max(truth.tol_in_mm, 2.0 + truth.noise_mm)


@dataclass(frozen=True)
class Form:
    """How a text file is laid out: separator, columns that hold coordinates, decimal mark, encoding."""

    separator: str = ","
    columns: tuple[int, ...] = (0, 1)
    comma: bool = False
    encoding: str = "utf-8"
    comment: str = "#"

    def numbers(self, content: bytes) -> Array:
        """All rows whose columns are numbers."""
        lines = [line.partition(self.comment)[0] for line in content.decode(self.encoding).splitlines()]
        found = []
        for row in csv.reader(lines, delimiter=self.separator, skipinitialspace=True):
            cells = [cell for cell in row if cell] if self.separator == " " else row
            if len(cells) > max(self.columns):
                values = [self.number(cells[i]) for i in self.columns]
                found += [values] if None not in values else []
        return np.array(found, dtype=float)

    def number(self, cell: str) -> float | None:
        text = cell.strip().strip("()").replace("\N{MINUS SIGN}", "-")
        text = text.replace(",", ".") if self.comma else text
        return float(text) if re.fullmatch(r"[-+]?[\d.]+([eE][-+]?\d+)?", text) else None


TABLES = {
    "table_comma.csv": Form(),
    "table_semicolon_decimal_comma.csv": Form(";", comma=True),
    "table_tab.txt": Form("\t"),
    "table_tab_decimal_comma.txt": Form("\t", comma=True),
    "table_spaces.txt": Form(" "),
    "table_spaces_no_heading.txt": Form(" "),
    "table_quoted_decimal_comma.csv": Form(comma=True),
    "table_trailing_separator.csv": Form(";", comma=True),
    "table_bom.csv": Form(encoding="utf-8-sig"),
    "table_utf16.csv": Form(";", comma=True, encoding="utf-16"),
    "table_utf16_big_endian.txt": Form("\t", encoding="utf-16"),
    "table_cp1252.csv": Form(";", comma=True, encoding="cp1252"),
    "table_crlf.csv": Form(),
    "table_cr.csv": Form(),
    "table_unit_row_mm.csv": Form(),
    "table_unit_row_inch.csv": Form(),
    "table_inch_heading.csv": Form(),
    "table_no_unit_inch.csv": Form(),
    "table_no_unit_mm.csv": Form(),
    "table_empty_lines.csv": Form(),
    "table_comments.csv": Form(),
    "table_preface_and_numbers.csv": Form(";", (1, 2), comma=True),
    "table_duplicates.csv": Form(),
    "table_clockwise.csv": Form(),
    "table_upper_edge_only.csv": Form(),
    "table_r_before_z.csv": Form(columns=(1, 0)),
    "table_other_names.csv": Form(columns=(1, 0)),
    "table_more_columns.csv": Form(columns=(1, 2)),
    "table_x_for_z.csv": Form(),
    "table_exponents.csv": Form(),
    "table_typographic_minus.csv": Form(";", comma=True),
    "several_utf16_inch_comma_comments.txt": Form("\t", (1, 0), comma=True, encoding="utf-16"),
}


@pytest.mark.parametrize("name", TABLES)
def test_table_holds_its_truth(name: str) -> None:
    truth = KNOWN[name]
    places = (
        TABLES[name].numbers((FILES / name).read_bytes())
        * UNIT_MM[truth.options.unit or truth.unit_stated or ""]
    )
    wanted = np.array([node[:2] for node in truth.outlines[0]])
    assert cKDTree(places).query(wanted)[0].max() < 1e-6
    assert cKDTree(wanted).query(places)[0].max() < 1e-6


SCANS = {
    "points_xyz.xyz": Form(" ", (0, 1, 2)),
    "points_thousands.xyz": Form(" ", (0, 1, 2)),
    "points_scan_lines.asc": Form(" ", (0, 1, 2)),
    "points_duplicates.csv": Form(columns=(0, 1, 2)),
    "points_axle_y.csv": Form(columns=(0, 1, 2)),
    "points_axle_x.csv": Form(columns=(0, 1, 2)),
    "points_arm_frame.txt": Form("\t", (0, 1, 2)),
    "points_both_sides.csv": Form(columns=(0, 1, 2)),
    "points_names_and_normals.csv": Form(";", (1, 2, 3), comma=True),
    "points_inch_row.txt": Form(" ", (0, 1, 2)),
    "points_colours.xyz": Form(" ", (0, 1, 2)),
    "points_remarks.xyz": Form(columns=(0, 1, 2), comment="!"),
    "points_parentheses.txt": Form(columns=(0, 1, 2)),
    "points_ball_centres.csv": Form(columns=(0, 1, 2)),
    "points_noise_hand_scanner.xyz": Form(" ", (0, 1, 2)),
    "points_noise_cmm.xyz": Form(" ", (0, 1, 2)),
    "points_flat_top.xyz": Form(" ", (0, 1, 2)),
    "several_arm_inch_ball_off_origin.csv": Form(";", (0, 1, 2), comma=True),
}


@pytest.mark.parametrize("name", SCANS)
def test_scan_lies_on_its_truth(name: str) -> None:
    """Ball centres lie a ball's radius outside the profile, everything else within its noise."""
    truth = KNOWN[name]
    places = read_back_mesh.to_half_plane(SCANS[name].numbers((FILES / name).read_bytes()), truth)
    ball = truth.options.ball_radius_mm
    if not ball:
        is_noise_true(truth, places, inside_counts="flat_top" in name)
        return
    edge = chain_path(truth.outlines[0])
    assert distance_to_paths(places, [edge]) == pytest.approx(ball, abs=truth.noise_mm + FINE)
    assert not shapely.contains_xy(shapely.Polygon(edge), places).any()


def test_scans_in_the_plane_lie_on_their_truth() -> None:
    for name in ("points_random_order.csv", "points_both_sides_plane.csv"):
        places = np.abs(Form().numbers((FILES / name).read_bytes())) * [1.0, 1.0]
        signed = Form().numbers((FILES / name).read_bytes())
        is_noise_true(KNOWN[name], np.column_stack([signed[:, 0], places[:, 1]]), inside_counts=False)
    truth = KNOWN["points_ball_centres_plane.csv"]
    off = distance_to_paths(
        Form().numbers((FILES / truth.file).read_bytes()), [chain_path(truth.outlines[0])]
    )
    assert off == pytest.approx(1.5, abs=FINE)


def test_odd_tables_hold_their_truth() -> None:
    """Diameters, mixed units, inch marks, units behind numbers, fractions: each by its own rule."""

    def columns(name: str) -> list[list[str]]:
        rows = list(
            csv.reader(
                io.StringIO((FILES / name).read_text("utf-8")), delimiter=";" if "each" in name else ","
            )
        )
        return rows[1:]

    def held(name: str, places: list[tuple[float, float]]) -> None:
        wanted = [node[:2] for node in KNOWN[name].outlines[0]]
        assert np.allclose(sorted(places), sorted(wanted), rtol=0.0, atol=1e-6), name

    held("table_diameters.csv", [(float(z), float(d) / 2.0) for z, d in columns("table_diameters.csv")])
    held("table_mixed_units.csv", [(float(z) * 25.4, float(r)) for z, r in columns("table_mixed_units.csv")])
    marks = [
        (float(z.rstrip('"')) * 25.4, float(r.rstrip('"')) * 25.4) for z, r in columns("table_inch_marks.csv")
    ]
    held("table_inch_marks.csv", marks)
    name = "table_unit_with_each_number.csv"
    held(name, [tuple(float(c.removesuffix(" mm").replace(",", ".")) for c in row) for row in columns(name)])  # type: ignore[misc]

    def inches(text: str) -> float:
        size = sum(float(a) / float(b or 1) for a, b in re.findall(r"(\d+)(?:/(\d+))?", text))
        return -size * 25.4 if text.startswith("-") else size * 25.4

    name = "table_inch_fractions.csv"
    held(name, [(inches(z), inches(r)) for z, r in columns(name)])


@pytest.mark.parametrize("name", [n for n in KNOWN if n.endswith(".xlsx")])
def test_workbook_holds_its_truth(name: str) -> None:
    """The pairs of the named sheet, read from its parts with regular expressions."""
    truth = KNOWN[name]
    with zipfile.ZipFile(FILES / name) as archive:
        names = re.findall(r'<sheet name="([^"]+)"', archive.read("xl/workbook.xml").decode())
        texts = re.findall(r"<t[^>]*>([^<]*)</t>", archive.read("xl/sharedStrings.xml").decode())
        number = names.index(truth.options.sheet) + 1 if truth.options.sheet else 1
        sheet = archive.read(f"xl/worksheets/sheet{number}.xml").decode()
    rows = []
    for row in re.findall(r"<row .*?</row>", sheet):
        cells = re.findall(r"<c [^>]*?(t=\"s\")?>(?:<f>[^<]*</f>)?<v>([^<]*)</v></c>", row)
        values = [texts[int(value)] if kind else value for kind, value in cells]
        found = [Form(comma=True).number(value) for value in values]
        rows.append([value for value in found if value is not None])
    rows = [row for row in rows if len(row) >= 2]
    picked = [(row[0], row[2]) if "formulas" in name else (row[0], row[1]) for row in rows]
    places = np.array(picked) * UNIT_MM[truth.unit_stated or ""]
    if name.startswith("several"):
        places = places[:, ::-1]
    wanted = np.array([node[:2] for node in truth.outlines[0]])
    assert len(places) == len(wanted)
    assert np.allclose(places, np.roll(wanted, 0, axis=0), rtol=0.0, atol=1e-6)
