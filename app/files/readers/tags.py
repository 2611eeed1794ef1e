"""The groups of a DXF file as header values, tables, blocks and entities.

A DXF file is a list of pairs of lines: an integer group code, then its value; there is a binary form too.
Numbers are read only where an entity that is used asks for them: the header may hold 1e20 for extents that
were never set, and what is skipped may hold anything.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass, field

from app.files.readers import binary
from app.files.readers.answer import ReadError, plain
from app.files.readers.limits import DRAWING, LARGEST_COORDINATE

_NUMBER = re.compile(r"[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eEdD][+-]?[0-9]+)?")
_WHOLE = re.compile(r"[0-9]{1,9}")
_ESCAPED = re.compile(r"\\U\+([0-9A-Fa-f]{4})")


@dataclass
class Entity:
    """One entity: its type, its pairs in order, where in the file it starts, and what follows it."""

    kind: str
    place: str
    pairs: list[tuple[int, str]] = field(default_factory=list)
    vertices: list[Entity] = field(default_factory=list)

    def text(self, code: int, default: str = "") -> str:
        """Return the first value of a group code."""
        return next((value for c, value in self.pairs if c == code), default)

    def name(self, code: int) -> str:
        """Return the first value of a group code that holds a name, its escaped characters resolved."""
        return _ESCAPED.sub(_character, self.text(code))

    @property
    def layer(self) -> str:
        """Name of the layer."""
        return self.name(8) or "0"

    def number(self, code: int, default: float | None = None) -> float:
        """Return the first value of a group code as a finite number.

        Raises:
            ReadError: it is missing without a default, not a number, or too large.
        """
        value = next((v for c, v in self.pairs if c == code), None)
        if value is None:
            if default is None:
                raise ReadError(f"{self.where} has no value for group code {code}; the file is damaged")
            return default
        return self.read(value)

    def numbers(self, code: int) -> list[float]:
        """Return every value of a group code as finite numbers."""
        return [self.read(value) for c, value in self.pairs if c == code]

    def flags(self, code: int = 70) -> int:
        """Return an integer of bits, 0 where it is missing."""
        return int(self.number(code, 0.0))

    def read(self, value: str) -> float:
        """Return the finite number that a value states.

        Raises:
            ReadError: it states none, or one that is too large.
        """
        number = number_in(value)
        if not math.isfinite(number):
            raise ReadError(f"{self.where} holds {plain(value)!r} where a number belongs; mend the drawing")
        if abs(number) > LARGEST_COORDINATE:
            raise ReadError(
                f"{self.where} holds {plain(value)!r}, too large for a size or a coordinate (limit "
                f"{LARGEST_COORDINATE:g}); mend or delete it, or move the drawing to the origin"
            )
        return number

    @property
    def where(self) -> str:
        """The entity and its place in the file, for messages."""
        return f"{plain(self.kind)} at {self.place} of the file"


def number_in(value: str) -> float:
    """Return the number that a value states, not a number (nan) where it states none."""
    match = _NUMBER.fullmatch(value.strip())
    return float(re.sub("[dD]", "e", match[0])) if match else math.nan


def whole(text: str) -> int:
    """Return the whole number that a text states, 0 where it states none."""
    return int(text) if _WHOLE.fullmatch(text) else 0


@dataclass
class Block:
    """A named group of entities with its base point."""

    head: Entity
    entities: list[Entity] = field(default_factory=list)


@dataclass
class Tags:
    """What a DXF file holds, as far as an outline needs it.

    Attributes:
        header: variable to its first value, as text.
        hidden: upper-case names of layers that are switched off or frozen.
        frozen: those that are frozen, which hide whole blocks placed on them.
        layer_colours: upper-case name of a layer to its colour.
        blocks, block_units: by upper-case name; the units as in $INSUNITS.
        dimension_factors: upper-case name of a dimension style to what it multiplies lengths by.
    """

    header: dict[str, str] = field(default_factory=dict)
    hidden: set[str] = field(default_factory=set)
    frozen: set[str] = field(default_factory=set)
    layer_colours: dict[str, str] = field(default_factory=dict)
    blocks: dict[str, Block] = field(default_factory=dict)
    block_units: dict[str, str] = field(default_factory=dict)
    dimension_factors: dict[str, str] = field(default_factory=dict)
    entities: list[Entity] = field(default_factory=list)

    def colour(self, entity: Entity, layer: str, of_block: str) -> str:
        """Return the colour of an entity: its own, that of the reference it stands in, or that of its layer.

        Args:
            entity: whose colour is asked.
            layer: that it lies on as placed.
            of_block: colour of the reference it stands in.

        Returns:
            The number of an indexed colour, or #rrggbb.
        """
        own = _colour(entity)
        if own == _OF_BLOCK:
            return of_block
        return self.layer_colours.get(layer.upper(), DEFAULT_COLOUR) if own == _OF_LAYER else own


_OF_BLOCK, _OF_LAYER = "0", "256"

#: Black or white: of a layer that no table names, and of what takes its block's colour outside every block.
DEFAULT_COLOUR = "7"


def _colour(entity: Entity) -> str:
    """Return a true colour as #rrggbb, else the number of an indexed one."""
    true = entity.text(420).strip()
    if _WHOLE.fullmatch(true) and int(true) < 1 << 24:
        return f"#{int(true):06x}"
    index = entity.text(62, _OF_LAYER).strip().lstrip("-")
    return str(int(index)) if _WHOLE.fullmatch(index) else _OF_LAYER


def scan(data: bytes) -> Tags:
    """Return the parts of a DXF file.

    Raises:
        ReadError: it is no DXF, is cut off, or holds more entities than the limit.
    """
    tags = Tags()
    section, ended, count = "", False, 0
    target = tags.entities
    for entity in _entities(data):
        if entity.kind == "EOF":
            ended = True
        elif entity.kind in ("SECTION", "ENDSEC"):
            section = entity.text(2).strip().upper() if entity.kind == "SECTION" else ""
            target = tags.entities
            if section == "HEADER":
                _read_header(entity, tags)
        elif section in ("ENTITIES", "BLOCKS"):
            count += entity.kind != "VERTEX"  # the vertices of a polyline count as points
            if count > DRAWING.entities:
                raise ReadError(
                    f"more than {DRAWING.entities} entities; export the outline alone, without the rest"
                )
            target = _placed(entity, target, tags)
        elif section == "TABLES":
            _read_table(entity, tags)
    if not ended:
        raise ReadError("the file is cut off: its end mark (EOF) is missing; ask for it again")
    return tags


def _character(escaped: re.Match[str]) -> str:
    """Return the character of an escape; halves of a pair stand for none and cross no process boundary."""
    code = int(escaped[1], 16)
    return "?" if 0xD800 <= code <= 0xDFFF else chr(code)


def _entities(data: bytes) -> Iterator[Entity]:
    """Yield every group that starts with code 0, with the pairs up to the next."""
    current: Entity | None = None
    is_binary = data.startswith(binary.MARK)
    counted = "byte" if is_binary else "line"
    for start, code, value in _binary(data) if is_binary else _text(data):
        if code == 0:
            if current is not None:
                yield current
            current = Entity(value.strip().upper(), f"{counted} {start}")
            if current.kind == "EOF":
                break
        elif current is not None:
            # A long text is parted anywhere, between two words too.
            is_text = code == 1 or (code == 3 and current.kind == "MTEXT")
            current.pairs.append((code, value if is_text else value.strip()))
    if current is None:
        raise ReadError("not a DXF file: it holds no group of code 0")
    yield current


def _binary(data: bytes) -> Iterator[tuple[int, int, str]]:
    return ((start, code, _decoded(value)) for start, code, value in binary.groups(data))


def _text(data: bytes) -> Iterator[tuple[int, int, str]]:
    if b"\0" in data[:4096]:
        raise ReadError("not a DXF file (other binary data); export the outline as DXF")
    lines = re.split(r"\r\n|\n|\r", _decoded(data))
    for i in range(0, len(lines) - 1, 2):
        code = lines[i].strip()
        if not re.fullmatch(r"-?[0-9]{1,4}", code):
            what = "not a DXF file" if i == 0 else "the file is damaged or cut off"
            raise ReadError(f"{what}: line {i + 1} should be a group code and is {plain(lines[i])!r}")
        yield i + 2, int(code), lines[i + 1]


def _decoded(data: bytes) -> str:
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("latin-1")  # numbers are ASCII in every code page; names may look odd


def _read_header(entity: Entity, tags: Tags) -> None:
    name = ""
    for code, value in entity.pairs:
        if code == 9:
            name = value.strip().upper()
        elif name:
            tags.header.setdefault(name, value.strip())


def _read_table(entity: Entity, tags: Tags) -> None:
    """Take over what a layer, a block record or a dimension style says of what it names."""
    name = entity.name(2).upper()
    if entity.kind == "LAYER":
        tags.layer_colours[name] = _colour(entity)
        flags = entity.text(70, "0").strip()
        is_frozen = bool(whole(flags) & 1)
        if is_frozen:
            tags.frozen.add(name)
        if is_frozen or entity.text(62, "7").strip().startswith("-"):
            tags.hidden.add(name)
    elif entity.kind == "BLOCK_RECORD":
        tags.block_units[name] = entity.text(70, "0").strip()
    elif entity.kind == "DIMSTYLE":
        tags.dimension_factors[name] = entity.text(144, "1").strip()


def _placed(entity: Entity, target: list[Entity], tags: Tags) -> list[Entity]:
    """Put an entity where it belongs and return the list that takes the next one."""
    if entity.kind == "BLOCK":
        block = Block(entity)
        tags.blocks.setdefault(entity.name(2).upper(), block)
        return block.entities
    if entity.kind == "ENDBLK":
        return tags.entities
    if entity.kind == "VERTEX":
        if not target or target[-1].kind != "POLYLINE":
            raise ReadError(f"{entity.where} belongs to no POLYLINE; the file is damaged")
        target[-1].vertices.append(entity)
    elif entity.kind != "SEQEND":
        target.append(entity)
    return target
