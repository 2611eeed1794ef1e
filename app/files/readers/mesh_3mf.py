"""3MF packages: a zip with models in XML, objects placed by build items and components, unit stated."""

from __future__ import annotations

import encodings.cp437  # noqa: F401  # names in a zip: a codec is read from the disk on first use
import io
import lzma
import posixpath
import zipfile
import zlib
from array import array
from dataclasses import dataclass, field
from xml.sax import SAXException
from xml.sax.handler import ContentHandler
from xml.sax.xmlreader import AttributesImpl

import numpy as np
from defusedxml.common import DefusedXmlException
from defusedxml.sax import parseString

from app.files.readers.answer import ReadError, plain
from app.files.readers.limits import MESH, UNPACKED_BYTES, UNPACKED_RATIO
from app.files.readers.mesh_files import Mesh, check_count, numbers
from app.files.readers.mesh_polygons import parted
from geometry.shape.curve import Array

#: Units that a model can state: in words of answer.UNITS, or in mm by a factor.
_UNITS = {
    "micron": ("mm", 0.001),
    "millimeter": ("mm", 1.0),
    "centimeter": ("cm", 1.0),
    "inch": ("in", 1.0),
    "foot": ("in", 12.0),
    "meter": ("m", 1.0),
}

#: Members of a package, and components that its build items place.
_MOST_MEMBERS, _MOST_PLACED = 2000, 100_000

#: A package that only a damaged or a locked zip gives.
_BROKEN = (
    *(zipfile.BadZipFile, zlib.error, lzma.LZMAError, NotImplementedError),
    *(EOFError, OSError, RuntimeError, ValueError),
)

_SAME = np.vstack([np.eye(3), np.zeros(3)])


def read_3mf(data: bytes) -> Mesh:
    """Return the triangles of all build items of a 3MF package.

    Raises:
        ReadError: the package or a model in it is damaged, would burst, or names what it does not hold.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as package:
            return _Package(package).mesh()
    except _BROKEN:
        raise ReadError("not a 3MF package: it is damaged, cut off or locked; export it again") from None


@dataclass
class _Object:
    """One object of a model: corners and triangles, or components (part, object, transform)."""

    places: array[float] = field(default_factory=lambda: array("d"))
    faces: array[int] = field(default_factory=lambda: array("q"))
    components: list[tuple[str, str, Array]] = field(default_factory=list)


class _Package:
    """The members of a package, opened one by one as they are named, within the limits."""

    def __init__(self, package: zipfile.ZipFile) -> None:
        members = package.infolist()
        if len(members) > _MOST_MEMBERS:
            raise ReadError(
                f"the package holds {len(members)} members; at most {_MOST_MEMBERS} are looked at"
            )
        self._package = package
        self._members = {"/" + m.filename.lstrip("/").lower(): m for m in members}
        self._left = UNPACKED_BYTES
        self._models: dict[str, _Model] = {}
        self._triangles, self._placed = 0, 0
        self.parts: list[Array] = []

    def mesh(self) -> Mesh:
        root = self.model(self._root())
        if root.unit not in _UNITS:
            raise ReadError(
                f"the file states the unit {plain(root.unit)!r}, which a 3MF file cannot have; it is "
                f"{', '.join(_UNITS)}"
            )
        unit, factor = _UNITS[root.unit]
        needs = f"the file needs extensions ({plain(root.needs)}); what only they add is not read"
        if not root.items:
            raise ReadError("the 3MF model places nothing to be built (no item); export the body again")
        for part, key, matrix in root.items:
            self.place(part or root.name, key, matrix, 0)
        triangles = np.concatenate(self.parts) if self.parts else np.empty((0, 3, 3))
        triangles = triangles * factor if factor != 1.0 else triangles
        return Mesh(triangles, unit, (needs,) if root.needs else ())

    def _root(self) -> str:
        """Return the name of the first model, by the package's relations, else the only one."""
        name = "/_rels/.rels"
        if name in self._members:
            relations = _Relations()
            _parse(self._read(name), relations)
            for target in relations.models:
                found = posixpath.normpath("/" + target.lstrip("/")).lower()
                if found in self._members:
                    return found
        models = [name for name in self._members if name.endswith(".model")]
        if not models:
            raise ReadError("the package is empty of any 3MF model; export it again")
        if len(models) > 1:
            raise ReadError(f"the package holds {len(models)} models and does not say which; export it again")
        return models[0]

    def _read(self, name: str) -> bytes:
        member = self._members.get(name)
        if member is None:
            raise ReadError(f"the package names {plain(name)}, which it does not hold; export it again")
        if member.flag_bits & 1:
            raise ReadError("the package is locked with a password; ask for it without one")
        if member.file_size > self._left:
            raise ReadError(
                f"the package unpacks to more than the {UNPACKED_BYTES // 1_000_000} MB that are read"
            )
        if member.file_size > max(UNPACKED_RATIO * member.compress_size, 1_000_000):
            raise ReadError(
                f"{plain(member.filename)} unpacks to over {UNPACKED_RATIO} times its size; it is not read"
            )
        with self._package.open(member) as file:
            text = file.read(member.file_size + 1)
        self._left -= len(text)
        return text

    def model(self, name: str) -> _Model:
        name = posixpath.normpath("/" + name.lstrip("/")).lower()
        if name not in self._models:
            self._models[name] = found = _Model(name)
            _parse(self._read(name), found)
        return self._models[name]

    def place(self, part: str, key: str, matrix: Array, depth: int) -> None:
        """Add the triangles of an object, moved by a (4, 3) matrix, and of its components."""
        if depth > MESH.nesting:
            raise ReadError(
                f"components lie over {MESH.nesting} deep within each other; export the body alone"
            )
        self._placed += 1
        if self._placed > _MOST_PLACED:
            raise ReadError(
                f"the 3MF model places more than {_MOST_PLACED} components; export the body alone"
            )
        model = self.model(part)
        found = model.objects.get(key)
        if found is None:
            raise ReadError(f"the 3MF model names object {plain(key)!r}, which it does not hold")
        if found.faces:
            self._triangles += len(found.faces) // 3
            check_count(self._triangles)
            with np.errstate(all="ignore"):  # what is too large is refused later
                places = np.frombuffer(found.places, dtype=float).reshape(-1, 3) @ matrix[:3] + matrix[3]
            self.parts.append(parted(places, [np.frombuffer(found.faces, dtype=np.int64).reshape(-1, 3)]))
        for other, inner, moved in found.components:
            with np.errstate(all="ignore"):
                both = np.vstack([moved[:3] @ matrix[:3], moved[3] @ matrix[:3] + matrix[3]])
            self.place(other or part, inner, both, depth + 1)


# XML


def _parse(text: bytes, handler: ContentHandler) -> None:
    try:
        parseString(text, handler, forbid_dtd=True)
    except DefusedXmlException:
        raise ReadError("a part of the 3MF package defines entities, which are not read") from None
    except (SAXException, ValueError, LookupError):
        raise ReadError("a part of the 3MF package is damaged XML; export it again") from None


def _plain_name(name: str) -> str:
    """Return a name without the prefix of its namespace."""
    return name.rpartition(":")[2]


class _Relations(ContentHandler):
    def __init__(self) -> None:
        super().__init__()
        self.models: list[str] = []

    def startElement(self, name: str, attrs: AttributesImpl[str]) -> None:  # noqa: N802  # SAX's own name
        if _plain_name(name) == "Relationship" and attrs.get("Type", "").endswith("/3dmodel"):
            self.models.append(attrs.get("Target", ""))


class _Model(ContentHandler):
    """One model as it is parsed: its unit, objects and build items."""

    def __init__(self, name: str) -> None:
        super().__init__()
        self.name, self.unit, self.needs = name, "millimeter", ""
        self.objects: dict[str, _Object] = {}
        self.items: list[tuple[str, str, Array]] = []
        self._object: _Object | None = None
        self._count = 0

    def startElement(self, name: str, attrs: AttributesImpl[str]) -> None:  # noqa: N802  # SAX's own name
        name = _plain_name(name)
        found = self._object
        if name == "vertex" and found is not None:
            try:
                found.places.extend((float(attrs["x"]), float(attrs["y"]), float(attrs["z"])))
            except (KeyError, ValueError):
                raise ReadError(
                    "a corner of the 3MF model has no three coordinates; export it again"
                ) from None
        elif name == "triangle" and found is not None:
            try:
                found.faces.extend((int(attrs["v1"]), int(attrs["v2"]), int(attrs["v3"])))
            except (KeyError, ValueError, OverflowError):
                raise ReadError("a triangle of the 3MF model has no three corners; export it again") from None
            self._count += 1
            if self._count > MESH.entities:
                check_count(self._count)
        elif name == "object":
            self._object = self.objects[attrs.get("id", "")] = _Object()
        elif name == "component" and found is not None:
            found.components.append(_placed(attrs))
        elif name == "item":
            self.items.append(_placed(attrs))
        elif name == "model":
            self.unit = attrs.get("unit", "millimeter")
            self.needs = " ".join(w for w in attrs.get("requiredextensions", "").split() if w != "p")

    def endElement(self, name: str) -> None:  # noqa: N802  # SAX's own name
        if _plain_name(name) == "object":
            self._object = None


def _placed(attrs: AttributesImpl[str]) -> tuple[str, str, Array]:
    """Return part, object and (4, 3) transform of a component or item: rows of x, y, z and the shift."""
    part = next((value for key, value in attrs.items() if _plain_name(key) == "path"), "")
    text = attrs.get("transform")
    if text is None:
        return part, attrs.get("objectid", ""), _SAME
    words = text.split()
    if len(words) != 12:
        raise ReadError("a transform of the 3MF model has not twelve numbers; export it again")
    matrix = numbers(words, 12, "a transform of the 3MF model").reshape(4, 3)
    if not np.isfinite(matrix).all():
        raise ReadError("a transform of the 3MF model holds a number that is not finite; export it again")
    # Half a millionth of what three lengths like its own would span: no body, but a sheet or less.
    largest = float(np.abs(matrix[:3]).max())
    if not largest or not abs(np.linalg.det(matrix[:3] / largest)) > 5e-7:
        raise ReadError("a transform of the 3MF model makes its object flat, or nothing; export it again")
    return part, attrs.get("objectid", ""), matrix
