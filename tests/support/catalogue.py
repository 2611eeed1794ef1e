"""The texts that can be translated, and the catalogues that hold them.

`python -m tests.support.catalogue` says what each catalogue lacks and what no longer stands in the sources;
with `--update` it takes the stale entries out and puts new ones in, empty, to be translated by hand;
`--spoken` lists also what is not translated of the layers below the window.

Two kinds of texts are found in the syntax trees. In the layers that people see, what is given to `tr` and
`ntr`. In the layers below, which stay English for files and scripts, whatever reads as a text (several words,
one beside a value, the head of a column, a value of an enumeration): the window and the pages translate it by
`spoken` where it is shown. Of the files in `UNSEEN` nobody sees a word.
"""

from __future__ import annotations

import argparse
import ast
import itertools
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from string import Formatter

from app.language import LANGUAGES, catalogue_file

ROOT = Path(__file__).resolve().parents[2]
#: Layers that mark their texts.
MARKED = ("app/session", "app/views", "app/window")
#: Layers below, whose words are translated where they are shown.
BELOW = (
    "app/cli/prepare.py",
    "app/units.py",
    "app/project",
    "app/studies",
    "app/files",
    "app/reports",
    "geometry",
)

#: Files below of which nobody sees a word: what is written for other programs, and for developers.
UNSEEN = ("app/files/desktop.py", "app/files/caps.py", "app/files/log.py", "app/project/exchange.py")

#: Single words of the layers below that no rule finds.
WORDS = (
    *("least", "area", "flat width", "radial room", "body and suspension", "arms", "not stated"),
    *("R124 bending", "R124 rolling", "cornering", "energy", "Load", "bored", "stepped", "raw outboard end"),
    *("raw inboard end", "if not coated", "fillets", "added"),
    *(
        "Lip",
        "Figure",
        "Ratio",
        "Model",
        "Place",
        "Samples",
        "beams",
        "stiffness",
        "moment",
        "surface",
        "size",
    ),
    *("forging", "temperature", "coating", "Metal", "smallest", "largest", "? failed", "▼ life", "▼ yield"),
    "95 % reach",
    *("January {year}", "February {year}", "March {year}", "May {year}", "June {year}", "July {year}"),
    *("October {year}", "December {year}"),
    # Of the hub's rows, in the midst of a sentence.
    *("seat land", "socket bore to the bore", "socket bore to the next", "hub pad inside the flat"),
    *("bore over spigot, diameter", "bore chamfer against spigot root", "spigot engaged", "thread engaged"),
    *("hole over thread, diameter", "spigot end to {name}"),
    # Of the tools' values.
    *("by", "slope", "about z", "about r", "length", "angle", "gap", "radius", "wall"),
    *("vertex {words}", "tyre side", "brake side", "street side"),
    *(
        "must",
        "want",
        "Serves",
        "Die",
        "Scenario",
        "contribution",
        "least bad",
        "low volumes",
        "high volumes",
    ),
    *("dies: {dies}", "cost {amount}", "1 fitment", "{hanging} fitments", "without {gone}", "{zone} wall"),
    # Of the pages.
    *("{number} to {number_2}", "{number} to {number_2} mm", "{words}, continued", ", continued", "Faults"),
    *("Sign-off", "Name", "Signature", "Cautions", "Status", "Zone", "Reserve", "Moves", "Known", "any"),
    *("checked", "Datums", "Walls", "Rev.", "Rev", "Scale", "Projection", "Title", "half-section", "Minutes"),
    *("Proof", "Temper", "alone", "blocking", "finishing", "Surplus", "Log", "Rollers", "Mandrel", "charge"),
    *("disc", "inserts", "Stages", "Notes", "upright", "face", "cutting", "set-ups", "chips", "Mean", "mean"),
    *(
        "Fitted, mean",
        "Volume",
        "Rules",
        "Price",
        "Step",
        "some",
        "Reason",
        "below",
        "above",
        "ends",
        "thread",
    ),
    *(
        "lighter",
        "heavier",
        "cheaper",
        "dearer",
        "less",
        "more",
        "coated",
        "bare",
        "inner",
        "outer",
        "stated",
    ),
    *("invented", "settings", "demand", "rate", "conditions", "weakest", "once", "use", ", life", "None."),
    *("Assumptions", "setting", "trim", "minutes", "Read", "with", "without", "Blank {name}", "blank {name}"),
    *("now {length}", "and {count} more", "min {length}", "{words}, revision {revision}", "Tyre {size}"),
    *("worst case in the plane", "{zone} stock, {side} side", "{count} of {whole}", "{names} and {name}"),
    *("{count} bolt holes of {hole} with sockets of {socket}", "{zone} min {least} (drawn {drawn})"),
    *(
        "blank of {wheels}",
        "{mass} from {drop}",
        "{count} at {share} % for {cycles} cycles",
        "{size} is approved for rims of {span}; this rim, {width}, is {off} too wide.",
        "{size} is approved for rims of {span}; this rim, {width}, is {off} too narrow.",
    ),
    *("out", "under", "over", "not", "cuttable", "tight, can be cut", "now {value}", "S-basis"),
    *("{mm} mm outboard, {down} mm towards the axle", "{mm} mm outboard, {up} mm away from the axle"),
    *("{mm} mm inboard, {down} mm towards the axle", "{mm} mm inboard, {up} mm away from the axle"),
    *("Insets that can be cut from {blank}", "{weeks} weeks from the order", "of {file}"),
    *("of {wheel}", "{words} (fitted)", "static", "{value} MPa inflation", "{value} N axial", "level"),
    *("with the knuckle, swept over lock and travel", "with the knuckle, not swept over lock and travel"),
    *(
        "against the knuckle, swept over lock and travel",
        "against the knuckle, not swept over lock and travel",
    ),
    *("fixed to the body, swept over lock and travel", "{harmonics} harmonics"),
    *("{option} is there from {year}, not {year_2}", "rule set {name}", "saves", "costs"),
    *(
        "Pieces",
        "Machining",
        "Cash",
        "Break-even",
        "Relaxed",
        "proven",
        "Input",
        "Times",
        "Fitment",
        "Stands",
        "dies",
    ),
    "conditions {name}",
    "● cuttable, ◆ tight, ▼ not, ✕ touches its brake, ? not known",
    *(
        "{zone} min not stated (drawn {drawn})",
        "{count} holes Ø {hole}",
        "{depth} deep",
        "draft",
        "finish",
        "edges",
    ),
    *("at z {z}, r {r}", "{words} cheaper", "{words} dearer"),
    *("The blank that was found {answer}", "{zone} to {shape} in the worst state: {value}", "inner flange"),
    "{points} points of {file} held against {wheel}; {left} farther than {reach} from it left out.",
    *("{count} at the inner flange", "on the smallest tyre that is recommended, {tyre} or smaller"),
    *("{test}: {energy} J at the striker", "outer flange", "look", "drop", "striker"),
    "{case}, use and life by single spokes, {mpa} MPa: they show more at their roots than the section",
    "{case}, use by single spokes, {mpa} MPa: they show more at their roots than the section",
    *("{count} at {place}", "a spoke-to-rim joint", "Answered", "forged and spun"),
    *("Cost", "Value", "need", "programme", "compromise", "none in {code}", "inertia", "log", "for"),
    *(
        "every group was tried",
        "mesh",
        "of {number}",
        "shared by {count} wheels",
        "how much of it tyre and mounts take is not known",
        # What a wheel is said to have been changed in since its release.
        *(
            "vertices",
            "vertices {number} {field}",
            "spokes",
            "material",
            "clears",
            "rules",
            "load",
            "rings",
            "rim",
        ),
        *(
            "sequence",
            "fixing",
            "rating",
            "spigot",
            "chamfer",
            "count",
            "circle",
            "hole",
            "widths",
            "flatness",
        ),
        *("marking", "diameter code", "rim", "the {zone}", "{count} wheels", "{pieces} pieces a year"),
        *("The {name} crosses the section {count} times instead of twice", "move its ends onto the skin"),
        *("1 piece a year", "{blank} does not hold the wheel as drawn"),
        *("{low} ({by}) to {high} ({by_2})", "{low} ({by}) to {high} or more"),
        *("{low} or less to {high} ({by})", "{low} or less to {high} or more"),
    ),
    *("{gap} + error {error}", "{gap} + error {error} round {shape}", "{drop}, at {place}"),
)

_SEVERAL_WORDS = re.compile(r"[^\W\d_]{2,}[^\s]* +.*[^\W\d_]|[^\W\d_] +[^\W\d_]{2}")
#: One word beside values, with a blank between them; a unit is none, and one that says little alone.
_ONE_WORD = re.compile(
    r"(?:^|[ (])(?!(?:mm|MPa|MN|MB|GiB|min|geoms|ET|use|of|in|the|as|look|kg)\b)[^\W\d_]{2,}(?:[ ,:.;)?]|$)"
)


@dataclass
class Text:
    """One text of the program.

    Attributes:
        one: as it stands in the sources; with places for values.
        many: its plural, None where it has none.
        files: where it stands.
        is_spoken: it comes from below, and is translated where it is shown.
    """

    one: str
    many: str | None = None
    files: list[str] = field(default_factory=list)
    is_spoken: bool = False


def texts() -> dict[str, Text]:
    """Return every text that is to be translated, by its English, in the order of the files."""
    found: dict[str, Text] = {}
    for folder in MARKED:
        for path in sources(folder):
            for one, many in marked(ast.parse(path.read_text(encoding="utf-8"))):
                _keep(found, one, many, path)
    for folder in (*BELOW, *MARKED):
        for path in sources(folder):
            if path.relative_to(ROOT).as_posix() in UNSEEN:
                continue
            tree = ast.parse(path.read_text(encoding="utf-8"))
            for one in (*(below(tree) if folder in BELOW else ()), *enumerated(tree)):
                _keep(found, one, None, path)
                found[one].is_spoken = True
    for word in WORDS:
        found.setdefault(word, Text(word, files=["tests/support/catalogue.py"])).is_spoken = True
    return found


def _keep(found: dict[str, Text], one: str, many: str | None, path: Path) -> None:
    text = found.setdefault(one, Text(one, many))
    name = path.relative_to(ROOT).as_posix()
    if name not in text.files:
        text.files.append(name)


def sources(folder: str) -> list[Path]:
    """Return the modules of a folder, or the one that is named."""
    path = ROOT / folder
    return [path] if path.is_file() else sorted(path.rglob("*.py"))


def marked(tree: ast.AST) -> Iterator[tuple[str, str | None]]:
    """Yield the texts given to `tr` and `ntr`, each with its plural or None.

    Raises:
        ValueError: a text that is not a literal cannot be found; the message says in which line.
    """
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ("tr", "ntr"):
            wanted = node.args[: 1 if node.func.id == "tr" else 2]
            given = [a.value for a in wanted if isinstance(a, ast.Constant) and isinstance(a.value, str)]
            if len(given) != len(wanted):
                raise ValueError(f"line {node.lineno}: {node.func.id} takes a literal text")
            yield given[0], given[1] if len(given) > 1 else None


def below(tree: ast.AST) -> Iterator[str]:
    """Yield what reads as a text in a module that marks nothing, values as named places."""
    skipped = _not_texts(tree)
    for node in ast.walk(tree):
        if node in skipped:
            continue
        if isinstance(node, ast.JoinedStr):
            text = as_template(node)
            bare = re.sub(r"{[^}]*}", " ", text)
            if " " not in text and "\n" not in text:
                continue  # the name of a file, or of a key
            if _SEVERAL_WORDS.search(bare) or (" " in text and _ONE_WORD.search(bare)):
                yield _numbered(text)
        elif isinstance(node, ast.Call) and ast.unparse(node.func) == "Column" and node.args:
            head = node.args[0]
            if isinstance(head, ast.Constant) and re.search(r"[^\W\d_]{2}", str(head.value)):
                yield str(head.value)
        elif (
            isinstance(node, ast.Constant)
            and isinstance(node.value, str)
            and _SEVERAL_WORDS.search(node.value)
        ):
            yield _numbered(node.value.replace("{", "{{").replace("}", "}}"))


def _numbered(text: str) -> str:
    """Return a text with its places by number, which `format` fills later, as places by name."""
    count = itertools.count()
    return re.sub(r"{{(\d?)(?::[^{}]*)?}}", lambda m: f"{{v{m[1] or next(count)}}}", text)


def _not_texts(tree: ast.AST) -> set[ast.AST]:
    """Return literals that are no texts: docstrings, annotations, pieces of other literals, keys."""
    out: set[ast.AST] = set()
    for node in ast.walk(tree):
        body = getattr(node, "body", None)
        if isinstance(body, list):
            out |= {s.value for s in body if isinstance(s, ast.Expr) and isinstance(s.value, ast.Constant)}
        if isinstance(node, ast.JoinedStr):
            out |= set(node.values)
            out |= {s for v in node.values if isinstance(v, ast.FormattedValue) for s in [v.format_spec] if s}
            for value in node.values:
                if isinstance(value, ast.FormattedValue) and value.format_spec is not None:
                    out |= set(ast.walk(value.format_spec))
        if isinstance(node, (ast.arg, ast.AnnAssign)) and node.annotation is not None:
            out |= set(ast.walk(node.annotation))
        if isinstance(node, ast.FunctionDef) and node.returns is not None:
            out |= set(ast.walk(node.returns))
        if isinstance(node, ast.Subscript):
            out |= {node.slice}
        if isinstance(node, ast.Compare):
            out |= {node.left, *node.comparators}
        if isinstance(node, ast.Call) and ast.unparse(node.func).split(".")[-1] in _NO_TEXTS:
            out |= set(node.args)
    return out


#: Calls whose words are patterns, bytes or addresses, or are marked.
_NO_TEXTS = frozenset(
    {"compile", "match", "fullmatch", "sub", "split", "encode", "cast", "TypeVar", "njit", "tr", "ntr"}
)


def enumerated(tree: ast.AST) -> Iterator[str]:
    """Yield the values of enumerations that are words: states, zones, kinds."""
    for node in ast.walk(tree):
        if isinstance(node, ast.ClassDef) and any("Enum" in ast.unparse(base) for base in node.bases):
            for line in node.body:
                if isinstance(line, ast.Assign) and isinstance(line.value, ast.Constant):
                    value = line.value.value
                    if isinstance(value, str) and re.search(r"[^\W\d_]{2}", value) and "_" not in value:
                        yield value


def as_template(node: ast.JoinedStr) -> str:
    """Return a formatted literal as a text with named places: `{name}` for each value, without its format."""
    out, used = [], dict[str, str]()
    for piece in node.values:
        if isinstance(piece, ast.Constant):
            out.append(str(piece.value).replace("{", "{{").replace("}", "}}"))
        elif isinstance(piece, ast.FormattedValue):
            out.append("{" + _place(piece.value, used) + "}")
    return "".join(out)


def _place(value: ast.expr, used: dict[str, str]) -> str:
    """Return a name for a value: of a variable or attribute, else of what is called or of its argument."""
    source = ast.unparse(value)
    name = (_named(value) or "value").strip("_") or "value"
    number, made = 2, name
    while used.get(made, source) != source:
        made, number = f"{name}_{number}", number + 1
    used[made] = source
    return made


#: Functions that say a value in words: the value names the place better than they do.
_SAY = frozenset(
    {"length", "mass", "number", "format_length", "format_mass", "words", "minus", "escape", "str", "abs"}
    | {"len", "round", "join", "capital", "lower", "place"}
)


def _named(value: ast.expr) -> str:
    if isinstance(value, ast.Name):
        return value.id
    if isinstance(value, ast.Attribute):
        return value.attr
    if isinstance(value, ast.Subscript):
        return _named(value.value)
    if isinstance(value, ast.Call):
        name = _named(value.func)
        given = [a for a in value.args if not isinstance(a, ast.Constant)]
        return (_named(given[0]) or name) if name in _SAY and given else name
    inner = [child for child in ast.iter_child_nodes(value) if isinstance(child, ast.expr)]
    return next((name for child in inner if (name := _named(child))), "")


def places(text: str) -> dict[str, str]:
    """Return the named places of a text with their formats."""
    return {name: spec or "" for _, name, spec, _ in Formatter().parse(text) if name}


@dataclass
class Entry:
    """One entry of a catalogue: its comments, text, plural and translations (one per form)."""

    comments: list[str]
    one: str
    many: str | None
    said: list[str]


def read(code: str) -> tuple[str, dict[str, Entry]]:
    """Return the head of a catalogue as it stands, and its entries."""
    blocks = catalogue_file(code).read_text(encoding="utf-8").strip("\n").split("\n\n")
    entries = {}
    for block in blocks[1:]:
        comments, fields, name = list[str](), dict[str, str](), ""
        for line in block.split("\n"):
            if line.startswith("#"):
                comments.append(line)
            else:
                if not line.startswith('"'):
                    name, _, line = line.partition(" ")
                fields[name] = fields.get(name, "") + ast.literal_eval(line)
        said = [text for key, text in fields.items() if key.startswith("msgstr")]
        entry = Entry(comments, fields["msgid"], fields.get("msgid_plural"), said)
        entries[entry.one] = entry
    return blocks[0], entries


def write(code: str, head: str, entries: list[Entry]) -> None:
    """Write a catalogue, one entry after the other."""
    blocks = [head]
    for entry in entries:
        lines = [*entry.comments, *_written("msgid", entry.one)]
        if entry.many is None:
            lines += _written("msgstr", entry.said[0])
        else:
            lines += _written("msgid_plural", entry.many)
            for k, text in enumerate(entry.said):
                lines += _written(f"msgstr[{k}]", text)
        blocks.append("\n".join(lines))
    catalogue_file(code).write_text("\n\n".join(blocks) + "\n", encoding="utf-8")


def _written(name: str, text: str) -> list[str]:
    quoted = text.replace("\\", "\\\\").replace('"', '\\"').replace("\t", "\\t").replace("\n", "\\n")
    return [f'{name} "{quoted}"']


def about(text: Text) -> list[str]:
    """Return what a catalogue says of a text: where it stands, and whether it is spoken."""
    return [f"#: {' '.join(text.files[:2])}", *(["#, spoken"] if text.is_spoken else [])]


def update(code: str) -> None:
    """Bring a catalogue to the texts of the sources; what was translated stays."""
    head, entries = read(code)
    made = []
    for text in texts().values():
        known = entries.get(text.one)
        notes = [line for line in known.comments if line.startswith("# ")] if known else []
        said = known.said if known else [""] * (1 if text.many is None else 2)
        made.append(Entry([*notes, *about(text)], text.one, text.many, said))
    write(code, head, made)


def main() -> int:
    """Tell or bring up to date."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--update", action="store_true")
    parser.add_argument("--spoken", action="store_true")
    wanted = parser.parse_args()
    for code in [code for code in LANGUAGES if code != "en"]:
        if wanted.update:
            update(code)
        entries, found = read(code)[1], texts()
        lacking = [t for t in found.values() if t.one not in entries or not all(entries[t.one].said)]
        marked_too = [text for text in lacking if not text.is_spoken]
        print(
            f"{code}: {len(found)} texts; not translated: {len(marked_too)} of the window, "
            f"{len(lacking) - len(marked_too)} of the layers below; {len(set(entries) - set(found))} stale"
        )
        for text in lacking if wanted.spoken else marked_too:
            print(f"  {text.files[0]}: {text.one!r}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
