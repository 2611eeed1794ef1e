"""Mesh files as triangles: each format, and each defect by itself."""

from __future__ import annotations

import re
import struct

import numpy as np
import pytest

from app.files.readers import mesh_files
from app.files.readers.answer import NOT_KNOWN, ReadError
from app.files.readers.limits import MESH
from app.files.readers.mesh_files import Mesh
from app.files.readers.mesh_formats import load
from geometry.shape.curve import Array
from tests.support.mesh_text import (
    CORE,
    indexed,
    model_3mf,
    obj,
    object_3mf,
    package_3mf,
    ply,
    stl,
    stl_text,
    zipped,
)
from tests.support.meshes import block, lump, turned, volume

BOX = block((0.0, 10.0), (-5.0, 5.0), (100.0, 130.0))
#: Corners that a 32-bit number holds exactly.
BODY = np.round(lump(12) * 64.0) / 64.0


def of(text: str | bytes, suffix: str) -> Mesh:
    return load(text.encode() if isinstance(text, str) else text, suffix)


def assert_same(mesh: Mesh, triangles: Array) -> None:
    """The same triangles, in whatever order."""
    assert mesh.triangles.shape == triangles.shape
    assert sorted(mesh.triangles.reshape(-1, 9).tolist()) == sorted(triangles.reshape(-1, 9).tolist())


@pytest.mark.parametrize(
    ("data", "suffix"),
    [
        (stl(BODY), ".stl"),
        (stl(BODY, b"solid made by a program that writes solid"), ".stl"),
        (stl_text(BODY), ".stl"),
        (stl_text(BODY).upper(), ".stl"),
        (stl_text(BODY).replace("\n", "\r\n"), ".stl"),
        (stl_text(BODY[:100]) + stl_text(BODY[100:], "a vertex facet"), ".stl"),
        (obj(BODY), ".obj"),
        (ply(BODY), ".ply"),
        (ply(BODY).replace(b"\n", b"\r\n"), ".ply"),
        (ply(BODY, "<"), ".ply"),
        (ply(BODY, ">"), ".ply"),
        (package_3mf(model_3mf([object_3mf(1, BODY)], '<item objectid="1"/>')), ".3mf"),
    ],
    ids=lambda value: value if isinstance(value, str) and len(value) == 4 else "",
)
def test_every_format_gives_the_same_triangles(data: str | bytes, suffix: str) -> None:
    mesh = of(data, suffix)
    assert_same(mesh, BODY)
    assert mesh.warnings == ()
    assert mesh.unit == ("mm" if suffix == ".3mf" else NOT_KNOWN)


def test_text_is_read_in_parts_with_the_same_result(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(mesh_files, "PART_BYTES", 1000)
    assert_same(of(stl_text(BODY), ".stl"), BODY)


class TestStl:
    @pytest.mark.parametrize(
        ("data", "says"),
        [
            (stl(BOX, count=4_000_000_000), "says that it holds 4000000000 triangles and has room for 12"),
            (stl(BOX, count=13), "says that it holds 13 triangles and has room for 12"),
            (stl(BOX, count=3), "says that it holds 3 triangles and has room for 12"),
            (stl(BOX, count=0), "says that it holds 0 triangles and has room for 12"),
            (stl(BOX)[:-20], "says that it holds 12 triangles and has room for 11"),
            (stl(BOX)[:60], "holds no triangle"),
            (b"\0" * 84, "holds no triangle"),
            (stl(np.full((1, 3, 3), np.nan)), "triangle 1 is not a number"),
            (stl(np.concatenate([BOX, np.full((1, 3, 3), np.inf)])), "triangle 13 is not a number"),
            (stl(BOX * 1e20), "the coordinate 1.3e.22 is too large"),
        ],
    )
    def test_binary_defects(self, data: bytes, says: str) -> None:
        with pytest.raises(ReadError, match=says):
            of(data, ".stl")

    def test_a_few_bytes_at_the_end_are_told(self) -> None:
        mesh = of(stl(BOX) + b"END", ".stl")
        assert_same(mesh, BOX)
        assert mesh.warnings == ("3 bytes follow the last triangle and are passed over",)

    @pytest.mark.parametrize(
        ("text", "says"),
        [
            (stl_text(BOX).replace("130.0", "nan", 1), "triangle 1 is not a number"),
            (stl_text(BOX).replace("130.0", "1e400", 1), "not a number"),
            (stl_text(BOX).replace("130.0", "130,0", 1), "'130,0' is no number"),
            (stl_text(BOX).replace("130.0", "13O.0", 1), "'13O.0' is no number"),
            (stl_text(BOX)[: len(stl_text(BOX)) // 2], "damaged or cut off|no three coordinates"),
            (stl_text(BOX).replace("endfacet\n", "", 1), "36 corners for 12 facets, 11 of them ended"),
            (stl_text(BOX).replace("  vertex 0.0 -5.0 100.0\n", "", 1), "35 corners for 12 facets"),
            ("solid nothing\nendsolid nothing\n", "holds no triangle"),
            ("solid nothing" + 100 * " " + "\nendsolid nothing\n", "says that it holds|holds no triangle"),
            ("solid x\n facet normal 0 0 0\n outer loop\n vertex 1 2", "no three coordinates"),
        ],
    )
    def test_text_defects(self, text: str, says: str) -> None:
        with pytest.raises(ReadError, match=says):
            of(text, ".stl")

    def test_a_text_without_its_end_is_told(self) -> None:
        mesh = of(stl_text(BOX).replace("endsolid body\n", ""), ".stl")
        assert_same(mesh, BOX)
        assert "does not end as it should" in mesh.warnings[0]

    def test_more_triangles_than_the_limit(self) -> None:
        count = MESH.entities + 1
        data = bytes(80) + struct.pack("<I", count) + bytes(50 * count)
        with pytest.raises(ReadError, match="2000001 triangles, more than the 2000000 that are read"):
            of(data, ".stl")


class TestObj:
    def test_texture_normals_groups_and_names_are_passed_over(self) -> None:
        text = obj(BOX)
        text = "# made up\nmtllib a.mtl\no caliper\n" + text.replace("f ", "vt 0 0\nvn 0 0 1\ng a\nf ", 1)
        text = re.sub(r"^f (\d+) (\d+) (\d+)$", r"usemtl x\nf \1/1/1 \2//1 \3/1", text, flags=re.MULTILINE)
        mesh = of(text, ".obj")
        assert_same(mesh, BOX)
        assert mesh.skipped == {}

    def test_negative_numbers_count_back_from_the_last_corner(self) -> None:
        text = "v 0 0 100\nv 9 0 100\nv 0 9 100\nf -3 -2 -1\nv 5 5 120\nf -4 -3 -1\n"
        assert of(text, ".obj").triangles.tolist() == [
            [[0, 0, 100], [9, 0, 100], [0, 9, 100]],
            [[0, 0, 100], [9, 0, 100], [5, 5, 120]],
        ]

    def test_a_corner_with_a_weight_or_a_colour_keeps_its_place(self) -> None:
        text = "v 0 0 100 1.0\nv 9 0 100 0.5 0.5 0.5\nv 0 9 100\nf 1 2 3\n"
        assert of(text, ".obj").triangles.tolist() == [[[0, 0, 100], [9, 0, 100], [0, 9, 100]]]

    def test_a_line_may_go_on_in_the_next(self) -> None:
        assert len(of("v 0 0 1\nv 1 0 \\\n1\nv 0 1 1\nf 1 \\\n2 3\n", ".obj").triangles) == 1

    def test_quads_make_two_triangles_each(self) -> None:
        places, _ = indexed(BOX)
        quads = "f 1 2 4 3\nf 5 7 8 6\nf 1 5 6 2\nf 3 4 8 7\nf 1 3 7 5\nf 2 6 8 4\n"
        text = "".join(f"v {x} {y} {z}\n" for x, y, z in places.tolist()) + quads
        mesh = of(text, ".obj")
        assert len(mesh.triangles) == 12
        assert abs(volume(mesh.triangles)) == pytest.approx(10.0 * 10.0 * 30.0)

    @pytest.mark.parametrize("turn", range(6))
    def test_a_polygon_bent_in_stays_within_itself(self, turn: int) -> None:
        """An L of area 3 x 10^2, whichever corner it starts from: its triangles have that area together."""
        ell = [(0, 0), (20, 0), (20, 10), (10, 10), (10, 20), (0, 20)]
        ell = ell[turn:] + ell[:turn]
        text = "".join(f"v {x} 5 {y}\n" for x, y in ell) + "f 1 2 3 4 5 6\n"
        triangles = of(text, ".obj").triangles
        a, b, c = triangles[:, 0], triangles[:, 1], triangles[:, 2]
        assert np.linalg.norm(np.cross(b - a, c - a), axis=1).sum() / 2.0 == pytest.approx(300.0)

    def test_a_polygon_that_crosses_itself_is_parted_somehow(self) -> None:
        text = "v 0 0 1\nv 9 9 1\nv 9 0 1\nv 0 9 1\nv 4 12 1\nf 1 2 3 4 5\n"
        assert len(of(text, ".obj").triangles) == 3

    def test_what_is_no_surface_of_triangles_is_counted(self) -> None:
        text = obj(BOX) + "l 1 2\np 1\ncurv 0 1 1 2\nsurf 0 1 0 1 1\nweird 1\n"
        assert of(text, ".obj").skipped == {
            "loose lines and points": 2,
            "curved surfaces and curves": 2,
            "lines not understood": 1,
        }

    @pytest.mark.parametrize(
        ("text", "says"),
        [
            ("v 0 0 1\nv 1 0 1\nv 0 1 1\n", "holds no faces"),
            ("", "holds no faces"),
            ("what is this\nnothing\n", "not an OBJ file"),
            ("v 0 0 1\nv 1 0 1\nf 1 2\n", "line 3: a face has three corners"),
            ("v 0 0 1\nv 1 0 1\nv 0 1 1\nf 1 2 4\n", "names corner 4, beyond the 3"),
            (
                "v 0 0 1\nv 1 0 1\nv 0 1 1\nf 1 2 -4\n",
                "line 4: the face names corner -4, beyond the 3",
            ),
            ("v 0 0 1\nv 1 0 1\nv 0 1 1\nf 1 2 0\n", "line 4: '0' is no corner"),
            ("v 0 0 1\nv 1 0 1\nv 0 1 1\nf 1 2 99999999999\n", "'99999999999' is no corner"),
            ("v 0 0 1\nv 1 0 1\nv 0 1 1\nf 1 2 x\n", "'x' is no corner"),
            ("v 0 0\nf 1 1 1\n", "line 1: '0 0' are not three coordinates"),
            ("v 0 0 1,5\nf 1 1 1\n", "line 1: '0 0 1,5' are not three"),
            ("v 0 0 nan\nv 1 0 1\nv 0 1 1\nf 1 2 3\n", "triangle 1 is not a number"),
            ("v 0 0 1\n" * 3 + "f " + "1 " * 3000 + "\n", "a face has 3000 corners"),
        ],
    )
    def test_defects(self, text: str, says: str) -> None:
        with pytest.raises(ReadError, match=says):
            of(text, ".obj")


HEAD = "ply\nformat ascii 1.0\nelement vertex 4\nproperty float x\nproperty float y\nproperty float z\n"
FACES = "element face 2\nproperty list uchar int vertex_indices\nend_header\n"
FOUR = "0 0 100\n9 0 100\n9 9 100\n0 9 100\n"


class TestPly:
    def test_faces_of_three_and_four_corners_may_be_mixed(self) -> None:
        mesh = of(HEAD + FACES + FOUR + "3 0 1 2\n4 0 1 2 3\n", ".ply")
        assert len(mesh.triangles) == 3

    def test_other_properties_and_elements_are_passed_over(self) -> None:
        head = HEAD.replace("property float x", "property uchar red\nproperty float x\nproperty float nx")
        faces = FACES.replace(
            "end_header", "property uchar quality\nelement edge 1\nproperty int a\nend_header"
        )
        rows = "7 0 1 0 100\n7 9 1 0 100\n7 9 1 9 100\n7 0 1 9 100\n3 0 1 2 5\n3 0 2 3 5\n0\n"
        mesh = of(head + faces + rows, ".ply")
        assert mesh.triangles[0].tolist() == [[0, 0, 100], [9, 0, 100], [9, 9, 100]]
        assert mesh.skipped == {"edge": 1}

    @pytest.mark.parametrize("order", ["<", ">"])
    def test_mixed_lists_and_other_properties_in_binary(self, order: str) -> None:
        form = "binary_little_endian" if order == "<" else "binary_big_endian"
        head = HEAD.replace("ascii", form) + FACES.replace(
            "property list", "property float quality\nproperty list uchar float uv\nproperty list"
        )
        places = np.array([(0, 0, 100), (9, 0, 100), (9, 9, 100), (0, 9, 100)], dtype=f"{order}f4").tobytes()
        rows = struct.pack(f"{order}fB2fB3i", 0.5, 2, 0.1, 0.2, 3, 0, 1, 2)
        rows += struct.pack(f"{order}fBB4i", 0.5, 0, 4, 0, 1, 2, 3)
        mesh = of(head.encode() + places + rows, ".ply")
        assert len(mesh.triangles) == 3
        assert mesh.triangles[0].tolist() == [[0, 0, 100], [9, 0, 100], [9, 9, 100]]
        with pytest.raises(ReadError, match="says 2 rows of face and holds 1"):
            of(head.encode() + places + rows[:-3], ".ply")

    @pytest.mark.parametrize(
        ("text", "says"),
        [
            (HEAD + FOUR, "header is missing or cut off"),
            ("PLY?", "not a PLY file"),
            (
                HEAD.replace("float x", "float32bit x") + FACES + FOUR,
                "'property float32bit x', which is not known",
            ),
            (HEAD.replace("ascii 1.0", "utf8 1.0") + FACES + FOUR, "'format utf8 1.0'"),
            (HEAD.replace("vertex 4", "vertex four") + FACES + FOUR, "'element vertex four'"),
            (HEAD.replace("vertex 4", "vertex 4000000000") + FACES + FOUR, "says 4000000000 rows of vertex"),
            (HEAD.replace("vertex 4", "vertex -4") + FACES + FOUR, "says -4 rows of vertex"),
            (HEAD.replace("vertex 4", "vertex 40") + FACES + FOUR, "says 40 rows of vertex and holds 4"),
            (HEAD.replace("property float z\n", "") + FACES + FOUR, "no plain x, y and z"),
            (HEAD + FACES + FOUR + "3 0 1 2\n", "says 2 rows of face and holds 1"),
            (HEAD + FACES + FOUR + "3 0 1 2\n3 0 1\n", "says 2 rows of face and holds 1"),
            (HEAD + FACES + FOUR + "3 0 1 2\n3 0 1 4\n", "names corner 5, beyond the 4"),
            (HEAD + FACES + FOUR + "3 0 1 2\n3 0 1 -1\n", "names corner 0, beyond the 4"),
            (HEAD + FACES + FOUR + "3 0 1 2\n3 0 1 1.5\n", "no whole number"),
            (HEAD + FACES + FOUR + "3 0 1 2\n2 0 1\n", "a face has 2 corners"),
            (HEAD + FACES + FOUR + "3 0 1 2\n-3 0 1 2\n", "says 2 rows of face and holds 1"),
            (HEAD + FACES + FOUR + "3 0 1 2\n3 0 1 two\n", "something that is no number"),
            (HEAD + FACES + FOUR.replace("9 9 100", "9 9 nan") + "3 0 1 2\n3 0 2 3\n", "not a number"),
            (HEAD + FACES.replace("list uchar", "list float") + FOUR, "counts a list in fractions"),
            (HEAD + "end_header\n" + FOUR, "corners and no faces: a cloud of points"),
            (HEAD + FACES.replace("face 2", "face 0") + FOUR, "corners and no faces"),
            ("ply\nformat ascii 1.0\n" + FACES, "holds no corners"),
            (HEAD + HEAD[len("ply\nformat ascii 1.0\n") :] + FACES + FOUR, "header is not complete"),
        ],
    )
    def test_defects(self, text: str, says: str) -> None:
        with pytest.raises(ReadError, match=says):
            of(text, ".ply")

    @pytest.mark.parametrize("order", ["<", ">"])
    @pytest.mark.parametrize("left", [1, 100, 160, 220, 300])
    def test_a_binary_file_that_is_cut_off(self, order: str, left: int) -> None:
        data = ply(BOX, order)
        head = data.index(b"end_header") + 11
        with pytest.raises(ReadError, match=r"says \d+ rows of (vertex|face) and holds \d+"):
            of(data[: head + left], ".ply")


ONE = object_3mf(1, BOX)
ITEM = '<item objectid="1"/>'


class Test3mf:
    @pytest.mark.parametrize(
        ("unit", "name", "factor"),
        [
            ("millimeter", "mm", 1.0),
            (None, "mm", 1.0),
            ("inch", "in", 1.0),
            ("centimeter", "cm", 1.0),
            ("meter", "m", 1.0),
            ("micron", "mm", 0.001),
            ("foot", "in", 12.0),
        ],
    )
    def test_units(self, unit: str | None, name: str, factor: float) -> None:
        """The specification's six units; millimetre where none stands."""
        mesh = of(package_3mf(model_3mf([ONE], ITEM, unit)), ".3mf")
        assert mesh.unit == name
        assert mesh.triangles.max() == pytest.approx(130.0 * factor)

    def test_items_place_objects_and_may_do_so_twice(self) -> None:
        """A transform is four rows of three: a place is a row to the left of them."""
        items = '<item objectid="1" transform="0 1 0 -1 0 0 0 0 1 5 6 7"/><item objectid="1"/>'
        mesh = of(package_3mf(model_3mf([ONE, object_3mf(2, BOX + 900.0)], items)), ".3mf")
        x, y, z = BOX[..., 0], BOX[..., 1], BOX[..., 2]
        assert_same(mesh, np.concatenate([np.stack([5.0 - y, 6.0 + x, 7.0 + z], axis=-1), BOX]))

    def test_components_are_moved_by_all_transforms_above_them(self) -> None:
        """First doubled and shifted by 1, then, by the item, shifted by 100: 2 x + 1 + 100."""
        pair = (
            '<object id="2"><components><component objectid="1" transform="2 0 0 0 2 0 0 0 2 1 1 1"/>'
            '<component objectid="1"/></components></object>'
        )
        item = '<item objectid="2" transform="1 0 0 0 1 0 0 0 1 100 100 100"/>'
        mesh = of(package_3mf(model_3mf([ONE, pair], item)), ".3mf")
        assert_same(mesh, np.concatenate([2.0 * BOX + 101.0, BOX + 100.0]))

    def test_objects_in_other_models_of_the_package_are_found(self) -> None:
        """The production extension names the part that holds an object."""
        more = (
            'xmlns:p="http://schemas.microsoft.com/3dmanufacturing/production/2015/06" requiredextensions="p"'
        )
        component = '<component p:path="/3D/Objects/a.model" objectid="1"/>'
        pair = f'<object id="2"><components>{component}</components></object>'
        root = model_3mf([pair], '<item objectid="2"/>', more=more)
        mesh = of(package_3mf(root, {"3D/Objects/a.model": model_3mf([ONE], "")}), ".3mf")
        assert_same(mesh, BOX)
        assert mesh.warnings == ()

    def test_without_relations_the_only_model_is_taken(self) -> None:
        assert_same(of(zipped({"a/b.model": model_3mf([ONE], ITEM)}), ".3mf"), BOX)
        with pytest.raises(ReadError, match="holds 2 models and does not say which"):
            of(zipped({"a.model": model_3mf([ONE], ITEM), "b.model": model_3mf([ONE], ITEM)}), ".3mf")

    def test_names_may_carry_a_prefix(self) -> None:
        text = re.sub(r"<(/?)(?=[a-z])", r"<\1m:", model_3mf([ONE], ITEM)).replace("xmlns=", "xmlns:m=")
        assert f'xmlns:m="{CORE}"' in text
        assert_same(of(package_3mf(text), ".3mf"), BOX)

    def test_an_extension_that_is_needed_is_told(self) -> None:
        mesh = of(package_3mf(model_3mf([ONE], ITEM, more='requiredextensions="b p"')), ".3mf")
        assert mesh.warnings == ("the file needs extensions (b); what only they add is not read",)

    @pytest.mark.parametrize(
        ("model", "says"),
        [
            (model_3mf([ONE], '<item objectid="7"/>'), "names object '7', which it does not hold"),
            (model_3mf([ONE], ITEM, "cubit"), "the unit 'cubit', which a 3MF file cannot have"),
            (model_3mf([ONE], ""), "places nothing to be built"),
            (model_3mf(['<object id="1"/>'], ITEM), "holds no triangle"),
            (model_3mf([ONE], f'<item objectid="1" transform="{"0 " * 12}"/>'), "makes its object flat"),
            (model_3mf([ONE], ITEM)[:-30], "damaged XML"),
            (model_3mf([ONE.replace('z="130.0"', 'z="13O"', 1)], ITEM), "no three coordinates"),
            (model_3mf([ONE.replace('z="130.0"', "", 1)], ITEM), "no three coordinates"),
            (model_3mf([ONE.replace('z="130.0"', 'z="nan"')], ITEM), "not a number"),
            (model_3mf([ONE.replace('v3="', 'v3="9', 1)], ITEM), "names corner 9"),
            (model_3mf([ONE.replace('v3="', 'v3="-', 1)], ITEM), "names corner"),
            (model_3mf([ONE.replace('v3="', 'v3="x', 1)], ITEM), "no three corners"),
            (model_3mf([ONE.replace("v3=", "v4=", 1)], ITEM), "no three corners"),
            (model_3mf([ONE], '<item objectid="1" transform="1 0 0"/>'), "not twelve numbers"),
            (model_3mf([ONE], f'<item objectid="1" transform="{"a " * 12}"/>'), "'a' is no number"),
            (
                model_3mf(
                    ['<object id="1"><components><component objectid="1"/></components></object>'], ITEM
                ),
                "over 16 deep",
            ),
            (
                model_3mf(
                    [ONE]
                    + [
                        f'<object id="{k}"><components>{f"""<component objectid="{k - 1}"/>""" * 10}'
                        "</components></object>"
                        for k in range(2, 10)
                    ],
                    '<item objectid="9"/>',
                ),
                "places more than 100000 components|triangles, more than",
            ),
            (
                '<?xml version="1.0"?><!DOCTYPE model [<!ENTITY a "b">]>' + model_3mf([ONE], ITEM)[40:],
                "defines entities|damaged XML",
            ),
        ],
    )
    def test_defects_of_the_model(self, model: str, says: str) -> None:
        with pytest.raises(ReadError, match=says):
            of(package_3mf(model), ".3mf")

    @pytest.mark.parametrize("share", [0.0, 0.03, 0.5, 0.95])
    def test_a_damaged_package(self, share: float) -> None:
        body = turned([(0, 50), (9, 50), (9, 60)], 60)
        data = bytearray(package_3mf(model_3mf([object_3mf(1, body)], ITEM)))
        at = int(share * len(data))
        data[at : at + 20] = b"\xff" * 20
        with pytest.raises(ReadError, match="3MF"):
            of(bytes(data), ".3mf")

    def test_what_unpacks_to_far_too_much(self) -> None:
        model = model_3mf([ONE], ITEM) + " " * 40_000_000
        with pytest.raises(ReadError, match="unpacks to over 200 times its size"):
            of(package_3mf(model), ".3mf")

    def test_a_component_of_a_part_that_is_missing(self) -> None:
        pair = '<object id="2"><components><component p:path="/no.model" objectid="1"/></components></object>'
        model = model_3mf([pair], '<item objectid="2"/>', more='xmlns:p="p"')
        with pytest.raises(ReadError, match=r"names /no\.model, which it does not hold"):
            of(package_3mf(model), ".3mf")

    def test_a_package_without_a_model(self) -> None:
        with pytest.raises(ReadError, match="empty of any 3MF model"):
            of(zipped({"readme.txt": "nothing"}), ".3mf")

    def test_no_zip_at_all(self) -> None:
        with pytest.raises(ReadError, match="not a 3MF package"):
            of(b"PK\x03\x04 and no more", ".3mf")
