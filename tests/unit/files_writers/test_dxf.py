"""DXF out: what is in the file by ezdxf's reading, and the same lines and arcs back by our own."""

import io
import math
import os
import random
import subprocess
import sys
from pathlib import Path as FilePath
from typing import Any

import numpy as np
import pytest
from ezdxf import recover
from ezdxf.document import Drawing as Document
from hypothesis import given, settings
from hypothesis import strategies as st

import app
from app.files.atomic import SaveError
from app.files.readers.read import read_outline
from app.files.readers.tags import scan
from app.files.writers.dxf import Drawing, Layer, dxf_bytes, layer_name, safe_text, section_drawing, write_dxf
from geometry.shape.curve import Path
from tests.support.drawings import arc, dxf, line, read_dxf
from tests.support.sections import random_outline, random_shape

WHEEL = Path.closed([(-100, 200, 0), (50, 200, 0.4), (60, 240, 0), (-100, 240, -0.1)])
BRAKE = Path.closed([(-50, 100, 1.0), (-20, 100, 0), (-20, 150, 0), (-50, 150, 0)])


def opened(content: bytes) -> Document:
    document, auditor = recover.read(io.BytesIO(content))
    assert not auditor.errors
    assert not auditor.fixes
    return document


class TestByAnotherReader:
    def test_unit_layers_and_closed_polylines_with_arcs(self) -> None:
        document = opened(dxf_bytes(section_drawing(WHEEL, WHEEL.moved(1.0), [("Caliper", BRAKE)])))
        assert document.header["$INSUNITS"] == 4
        assert document.header["$MEASUREMENT"] == 1
        layers = {layer.dxf.name for layer in document.layers}
        assert {"WHEEL", "BLANK", "SHAPE Caliper", "HUB FACE", "AXLE LINE"} <= layers
        polylines: dict[str, Any] = {p.dxf.layer: p for p in document.modelspace().query("LWPOLYLINE")}
        assert all(p.closed for p in polylines.values())
        rows = [tuple(row) for row in polylines["WHEEL"].get_points("xyb")]
        assert rows == WHEEL.rows()

    def test_hub_face_and_axle_line_lie_on_the_axes(self) -> None:
        space = opened(dxf_bytes(section_drawing(WHEEL, None, []))).modelspace()
        ends = {e.dxf.layer: (e.dxf.start, e.dxf.end) for e in space.query("LINE")}
        assert all(p.x == 0.0 for p in ends["HUB FACE"])
        assert all(p.y == 0.0 for p in ends["AXLE LINE"])
        assert ends["HUB FACE"][1].y > WHEEL.bounds[3]
        assert ends["AXLE LINE"][0].x < WHEEL.bounds[0]
        assert ends["AXLE LINE"][1].x > WHEEL.bounds[1]

    def test_notes_are_plain_text_below_the_axle(self) -> None:
        caution = "Geometric and screening results only: not a strength statement."
        space = opened(dxf_bytes(section_drawing(WHEEL, None, [], [caution, "second"]))).modelspace()
        texts = list(space.query("TEXT"))
        assert [t.dxf.text for t in texts] == [caution, "second"]
        assert all(t.dxf.insert.y < 0.0 for t in texts)


class TestHostileNames:
    @pytest.mark.parametrize(
        "text",
        [
            "%<\\AcVar Filename>%",
            "{\\H50;big}",
            "%%c",
            "line\nbreak\r0\nEOF",
            "\x1b[2J",
            "^J",
            "\\U+000A",
            "\u2028x",
        ],
    )
    def test_a_text_carries_no_code_and_no_line(self, text: str) -> None:
        assert not set(safe_text(text)) & set("\\{}%^\n\r\x1b\u2028")
        document = opened(dxf_bytes(Drawing((Layer("WHEEL", (WHEEL,)),), (text,))))
        (written,) = document.modelspace().query("TEXT")
        assert written.dxf.text == safe_text(text)
        assert {e.dxftype() for e in document.modelspace()} == {"LWPOLYLINE", "TEXT"}

    def test_a_name_cannot_break_out_of_its_line(self) -> None:
        content = dxf_bytes(
            section_drawing(WHEEL, None, [("x\n0\nENDSEC\n0\nEOF", BRAKE), ('<>/\\":;?*|=`,', BRAKE)])
        )
        assert len(read_dxf(content).loops) == 2  # the shapes are doubles of each other
        names = {layer.dxf.name for layer in opened(content).layers}
        assert "SHAPE x_0_ENDSEC_0_EOF" in names
        assert "SHAPE _____________" in names

    def test_names_are_unique_without_regard_to_case(self) -> None:
        taken: set[str] = set()
        assert [layer_name(n, taken) for n in ("A/b", "a:B", "A_B", "0", "", "x" * 300)] == [
            "A_b",
            "a_B 2",
            "A_B 3",
            "0 2",
            "_",
            "x" * 100,
        ]

    def test_other_alphabets_survive(self) -> None:
        content = dxf_bytes(section_drawing(WHEEL, None, [("ブレーキ ⌀ é", BRAKE)]))
        assert "SHAPE ブレーキ ⌀ é" in {layer.dxf.name for layer in opened(content).layers}
        assert "SHAPE ブレーキ ⌀ é" in read_dxf(content).layers


class TestSameBytes:
    def test_twice_and_in_another_process_with_another_hash_seed(self) -> None:
        drawing = section_drawing(WHEEL, None, [("a", BRAKE)], ["note"])
        script = (
            f"import sys; sys.path.insert(0, {str(FilePath(app.__file__).parents[1])!r})\n"
            "from tests.unit.files_writers.test_dxf import *\n"
            "drawing = section_drawing(WHEEL, None, [('a', BRAKE)], ['note'])\n"
            "sys.stdout.buffer.write(dxf_bytes(drawing))"
        )
        environment = dict(os.environ, PYTHONHASHSEED="77", TZ="Asia/Tokyo")
        other = subprocess.run(
            [sys.executable, "-c", script], capture_output=True, env=environment, check=True
        )
        assert dxf_bytes(drawing) == dxf_bytes(drawing) == other.stdout

    def test_the_dates_inside_are_fixed(self) -> None:
        header = scan(dxf_bytes(Drawing((Layer("WHEEL", (WHEEL,)),)))).header
        # Julian day number of the first of January 2000.
        assert {header[name] for name in ("$TDCREATE", "$TDUCREATE", "$TDUPDATE", "$TDUUPDATE")} == {
            "2451545.0"
        }


class TestBack:
    def test_through_a_file_and_the_child_process(self, tmp_path: FilePath) -> None:
        path = tmp_path / "W-1.dxf"
        write_dxf(path, section_drawing(WHEEL, None, [("E-1", BRAKE)], ["note"]))
        found = read_outline(path, layers=("WHEEL",))
        assert (found.unit, found.warnings) == ("mm", ())
        assert list(found.loops[0]) == WHEEL.rows()
        assert len(read_outline(path).loops) == 2

    @given(st.integers(0, 10**9))
    @settings(max_examples=60)
    def test_sections_and_shapes_give_the_same_lines_and_arcs(self, seed: int) -> None:
        rng = np.random.default_rng(seed)
        wheel, shape = random_outline(rng).path, random_shape(rng, (0.0, 120.0), 60.0)
        content = io.BytesIO()
        write_dxf(content, section_drawing(wheel, None, [("s", shape)]))
        loops = read_dxf(content.getvalue()).loops
        for path, loop in ((wheel, loops[0]), (shape, loops[1])):
            assert np.array(loop) == pytest.approx(np.array(path.rows()), abs=1e-9)

    @given(st.integers(0, 10**9))
    @settings(max_examples=60)
    def test_exploded_into_scattered_lines_and_arcs_too(self, seed: int) -> None:
        """Arcs by centre, radius and angles, in any order and direction, as a drawing program writes them."""
        path = random_outline(np.random.default_rng(seed)).path
        entities = [_entity(path, i) for i in range(len(path))]
        random.Random(seed).shuffle(entities)
        (loop,) = read_dxf(dxf(*entities)).loops
        start = int(np.argmin(np.hypot(*(np.array([r[:2] for r in loop]) - path.points[0]).T)))
        turned = np.array(loop[start:] + loop[:start])
        assert turned == pytest.approx(np.array(path.rows()), abs=1e-9)


def _entity(path: Path, i: int) -> str:
    (z0, r0), (z1, r1) = path.points[i].tolist(), path.ends[i].tolist()
    if not path.is_arc[i]:
        return line(z0, r0, z1, r1) if i % 2 else line(z1, r1, z0, r0)
    first = math.degrees(path.start_angles[i])
    last = first + math.degrees(path.sweeps[i])
    z, r = path.centres[i].tolist()
    return arc(z, r, float(path.radii[i]), min(first, last), max(first, last))


def test_a_folder_that_is_not_there_is_said(tmp_path: FilePath) -> None:
    with pytest.raises(SaveError, match="cannot save"):
        write_dxf(tmp_path / "no" / "x.dxf", section_drawing(WHEEL, None, []))
