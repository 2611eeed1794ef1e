"""3MF and XLSX: zip files that are too large inside, lie about themselves, or hold harmful XML."""

import io
import random
import struct
import zipfile
from collections.abc import Callable, Iterator, Mapping

from tests.corpus.bodies import block
from tests.corpus.hostile.inputs import (
    DAMAGED,
    ENTITY,
    LIMIT_UNPACKED,
    NESTED,
    NO_OUTLINE,
    NOT_FINITE,
    NOT_XML,
    TOO_LARGE,
    TOO_MANY,
    Hostile,
    either,
    fixed,
    laughs,
)
from tests.corpus.meshes_3mf import assembly, component
from tests.corpus.tables import SHARP
from tests.corpus.workbooks import listed, workbook
from tests.corpus.write_mesh import (
    CONTENT_TYPES,
    FIXED_DATE,
    MODEL_RELATION,
    mesh_object,
    model,
    package,
    three_mf,
)

BODY = block([(-40.0, 150.0), (30.0, 150.0), (30.0, 190.0), (-40.0, 190.0)], 50.0)
MESH = mesh_object(1, BODY)
ITEM = '<item objectid="1"/>'
PLAIN = model(MESH, ITEM)
MODEL = "3D/3dmodel.model"
SHEET = "xl/worksheets/sheet1.xml"
INFLATED = TOO_LARGE + "|ratio|unpack|compress|bomb|inflat"
NAMES = r"name|path|member|folder|outside|zip|\.\."
IDENTITY = "1 0 0 0 1 0 0 0 1 0 0 0"


def inputs() -> Iterator[Hostile]:
    """All of this kind."""
    yield from _inflated()
    yield from _zips()
    yield from _models()
    yield from _components()


def three_mf_of(model_text: str | bytes, *more: tuple[str, str | bytes]) -> bytes:
    """A 3MF package with any model part, and more members."""
    members = [("[Content_Types].xml", CONTENT_TYPES), ("_rels/.rels", MODEL_RELATION), (MODEL, model_text)]
    return package([*members, *more], compressed=True)


def workbook_with(changes: Mapping[str, Callable[[str], str]], *more: tuple[str, str | bytes]) -> bytes:
    """A workbook of one sheet with an outline, some of its parts changed."""
    plain = workbook({"Sheet1": [["z [mm]", "r [mm]"], *listed(SHARP)]})
    with zipfile.ZipFile(io.BytesIO(plain)) as archive:
        parts = [(name, archive.read(name).decode()) for name in archive.namelist()]
    changed = [(name, changes.get(name, str)(content)) for name, content in parts]
    assert not changes or changed != parts
    return package([*changed, *more], compressed=True)


def _padded(
    member: str, filler: bytes, size: int, before: bytes, after: bytes, others: list[tuple[str, str]]
) -> bytes:
    """A package one member of which is blown up to `size` bytes, written piece by piece."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in others:
            archive.writestr(zipfile.ZipInfo(name, FIXED_DATE), content)
        entry = zipfile.ZipInfo(member, FIXED_DATE)
        entry.compress_type = zipfile.ZIP_DEFLATED
        with archive.open(entry, "w") as out:
            out.write(before)
            count, rest = divmod(size - len(before) - len(after), len(filler))
            for _ in range(count):
                out.write(filler)
            out.write(filler[:rest] + after)
    return stream.getvalue()


def _inflated() -> Iterator[Hostile]:
    head, tail = PLAIN.split("<resources>")
    start, end = head.encode(), b"<resources>" + tail.encode()
    others = [("[Content_Types].xml", CONTENT_TYPES), ("_rels/.rels", MODEL_RELATION)]
    blank = b" " * 1_000_000

    def ratio() -> bytes:
        return _padded(MODEL, blank, 60_000_000, start, end, others)

    def unpacked() -> bytes:
        # Some of it cannot be compressed, so that the ratio alone gives no reason.
        letters = random.Random(8).choices(b"abcdefghijklmnopqrstuvwxyz0123456789", k=8000)
        noisy = b"<!--" + bytes(letters) + b"-->"
        return _padded(MODEL, noisy + b" " * 400_000, LIMIT_UNPACKED + 1, start, end, others)

    yield Hostile("ratio_1000.3mf", "The model is 60 MB of blanks, packed a thousandfold.", ratio, INFLATED)
    yield Hostile("unpacked_300_mb_and_1.3mf", "One byte more than may lie in a package.", unpacked, INFLATED)

    def beside() -> bytes:
        sound = [*others, (MODEL, PLAIN)]
        return _padded("Metadata/pad.bin", bytes(1_000_000), 400_000_000, b"", b"", sound)

    yield either(
        "bomb_beside_model.3mf",
        "The model is sound; a member that nobody needs holds 400 MB of zeros.",
        beside,
        INFLATED,
    )

    def sheet() -> bytes:
        plain = workbook({"Sheet1": [["z [mm]", "r [mm]"], *listed(SHARP)]})
        with zipfile.ZipFile(io.BytesIO(plain)) as archive:
            parts = {name: archive.read(name).decode() for name in archive.namelist()}
        before, after = parts.pop(SHEET).split("<sheetData>")
        return _padded(
            SHEET, blank, 60_000_000, before.encode(), b"<sheetData>" + after.encode(), [*parts.items()]
        )

    yield Hostile("ratio_1000.xlsx", "The sheet is 60 MB of blanks, packed a thousandfold.", sheet, INFLATED)

    def lying() -> bytes:
        """Both headers of the model claim a size of 1000 bytes."""
        content = bytearray(ratio())
        true_size = struct.pack("<I", 60_000_000)
        while (at := content.find(true_size)) >= 0:
            content[at : at + 4] = struct.pack("<I", 1000)
        return bytes(content)

    yield Hostile(
        "lies_about_size.3mf",
        "60 MB in a member that claims to hold 1000 bytes.",
        lying,
        INFLATED + "|" + DAMAGED + "|" + NOT_XML,
    )


def _zips() -> Iterator[Hostile]:
    sound = three_mf(PLAIN)
    yield Hostile(
        "cut.3mf", "The file ends in the middle.", lambda: sound[: len(sound) // 2], DAMAGED + "|zip"
    )
    yield Hostile("no_zip.3mf", "Text, not a package.", lambda: PLAIN.encode(), DAMAGED + "|zip|package")
    yield Hostile(
        "zip_without_members.3mf",
        "A package of nothing.",
        lambda: b"PK\x05\x06" + bytes(18),
        DAMAGED + "|empty|no model|member",
    )
    nested = three_mf_of(sound)
    yield Hostile("zip_in_zip.3mf", "The model part is a package itself.", lambda: nested, NOT_XML + "|zip")

    def many() -> bytes:
        return three_mf_of(PLAIN, *((f"x/{i}", "") for i in range(20_000)))

    yield either("members_20000.3mf", "Twenty thousand empty members.", many, TOO_MANY + "|member|zip")
    for name, path in (
        ("up", "../../../../tmp/evil.model"),
        ("absolute", "/tmp/evil.model"),
        ("drive", "C:\\evil.model"),
    ):
        made = three_mf_of(PLAIN, (path, "evil"))
        yield either(
            f"member_{name}.3mf",
            f"A member is called {path}; it must not be written anywhere.",
            fixed(made),
            NAMES,
        )
    yield Hostile(
        "no_model.3mf",
        "There is no model part.",
        lambda: package([("[Content_Types].xml", CONTENT_TYPES)]),
        r"model|missing|not a|no ",
    )
    encrypted = fixed(_encrypted(sound))
    yield Hostile(
        "encrypted.3mf",
        "All members are marked as encrypted.",
        encrypted,
        r"encrypt|password|protected|damaged|zip",
    )
    wrong_sum = fixed(sound.replace(b'unit="millimeter"', b'unit="centimeter"'))
    yield Hostile(
        "checksum_wrong.3mf",
        "The model was changed after packing: its checksum does not hold.",
        wrong_sum,
        DAMAGED + "|checksum|crc|zip",
    )


def _encrypted(content: bytes) -> bytes:
    """The package with the encryption bit set in every header."""
    changed = bytearray(content)
    for mark, offset in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        at = changed.find(mark)
        while at >= 0:
            changed[at + offset] |= 1
            at = changed.find(mark, at + 4)
    return bytes(changed)


def _models() -> Iterator[Hostile]:
    bomb = PLAIN.replace("<model", f"<!DOCTYPE model [{laughs()}]>\n<model").replace(
        "<resources>", "<metadata name='x'>&e9;</metadata><resources>"
    )
    spy = PLAIN.replace(
        "<model", '<!DOCTYPE model [<!ENTITY x SYSTEM "file:///etc/passwd">]>\n<model'
    ).replace('id="1"', 'id="1" name="&x;"')
    for name, about, text, refused in (
        ("entities_billion", "Entities of entities in the model.", bomb, ENTITY),
        ("entity_of_a_file", "An entity refers to a file of the system.", spy, ENTITY),
        (
            "index_beyond",
            "A triangle names place 99 of 8.",
            PLAIN.replace('v3="', 'v3="9', 1),
            r"index|vert|place|range|triangle",
        ),
        ("nan", "A place is nan.", PLAIN.replace('z="-40.0"', 'z="nan"', 1), NOT_FINITE),
        ("1e400", "A place is 1e400.", PLAIN.replace('z="-40.0"', 'z="1e400"', 1), NOT_FINITE),
        ("unit_furlong", "Its unit is the furlong.", PLAIN.replace("millimeter", "furlong"), r"unit|furlong"),
        (
            "item_of_nothing",
            "The built object does not exist.",
            model(MESH, '<item objectid="7"/>'),
            r"object|item|missing",
        ),
        ("nothing_built", "Nothing is built.", model(MESH, ""), NO_OUTLINE + "|build|item|built"),
        (
            "transform_short",
            "A transform of eleven numbers.",
            model(MESH, '<item objectid="1" transform="1 0 0 0 1 0 0 0 1 0 0"/>'),
            r"transform|matrix|twelve",
        ),
        (
            "transform_nan",
            "A transform of nan.",
            model(MESH, '<item objectid="1" transform="nan 0 0 0 1 0 0 0 1 0 0 0"/>'),
            NOT_FINITE + "|transform",
        ),
        (
            "transform_zero",
            "A transform to nothing.",
            model(MESH, '<item objectid="1" transform="0 0 0 0 0 0 0 0 0 0 0 0"/>'),
            NO_OUTLINE + "|transform|flat|thin",
        ),
        (
            "unclosed",
            "The model's XML is not closed.",
            PLAIN.replace("</model>", ""),
            NOT_XML + "|" + DAMAGED,
        ),
    ):
        assert text != PLAIN
        yield Hostile(f"{name}.3mf", about, fixed(three_mf_of(text)), refused)


def _components() -> Iterator[Hostile]:
    own = model(assembly(1, component(1, IDENTITY)), ITEM)
    yield Hostile(
        "component_itself.3mf",
        "An object is a component of itself.",
        lambda: three_mf_of(own),
        NESTED + "|component",
    )
    pair = model(assembly(1, component(2, IDENTITY)) + assembly(2, component(1, IDENTITY)), ITEM)
    yield Hostile(
        "components_each_other.3mf",
        "Two objects are components of each other.",
        lambda: three_mf_of(pair),
        NESTED + "|component",
    )
    tower = MESH + "".join(assembly(i, *[component(i - 1, IDENTITY)] * 10) for i in range(2, 10))
    content = model(tower, '<item objectid="9"/>')
    yield Hostile(
        "components_8_levels_by_10.3mf",
        "A hundred million copies by eight levels of ten components.",
        lambda: three_mf_of(content),
        TOO_MANY + "|" + NESTED + "|" + TOO_LARGE,
    )
