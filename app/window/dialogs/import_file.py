"""How the file is to be read: what of it, which columns, which axle line, what is joined and taken off."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from app.files.readers.answer import JOIN_MM, POINTS, ReadOutline
from app.files.readers.read import LARGEST_BALL_MM, Options
from app.language import tr
from app.units import parse_number
from app.window.dialogs.form import Form
from app.window.dialogs.import_ticks import Tick, TicksField, add_ticks
from app.window.dialogs.typed_fields import (
    NUMBER,
    CheckField,
    ChoiceField,
    Field,
    FieldError,
    Kind,
    NumberField,
    TextField,
    plain,
)

PERCENT = Kind("%", parse_number, plain)

#: Suffixes of bodies in space and of tables: what is asked before a file has given anything.
_SPACE = (".stl", ".obj", ".ply", ".3mf", ".step", ".stp")
_TABLES = (".csv", ".txt", ".tsv", ".dat", ".xyz", ".asc", ".xlsx")

_MEANINGS = {"z", "r", "d", "x", "y", "bulge", "-"}
_POINT_WORDS = {
    "auto": tr("as the rows look"),
    "outline": tr("one after the other along the outline"),
    "cloud": tr("in any order: a cloud"),
}
_AXLE_WORDS = {
    "": tr("nobody has said: along x as yet"),
    "x": tr("along x of the file"),
    "y": tr("along y of the file"),
    "z": tr("along z of the file"),
    "fitted": tr("fitted to turned surfaces"),
}
_OFF, _WHY_OFF = tr("off at first"), tr("Its name says text, dimension or frame, or the file hides it.")


class FilePage:
    """Fields for a reader's request; those that a kind of file does not have are hidden.

    Args:
        form: page that the fields are put on.
        path: the file.
        length: kind of lengths.
        again: called when the file must be read again; True where something was typed and more may follow.
    """

    def __init__(self, form: Form, path: Path, length: Kind, again: Callable[[bool], None]) -> None:
        self._form = form
        suffix = path.suffix.lower()
        self._is_space, self._is_table = suffix in _SPACE, suffix in _TABLES
        self._what(form)
        self._joins(form, length)
        self._points(form, length)
        for field in form.fields:
            typed = isinstance(field, NumberField | TextField)
            field.edited.connect(lambda typed=typed: again(typed))
        self._show_what_counts(None)

    def _what(self, form: Form) -> None:
        self.sheet: ChoiceField[str] = form.add(
            tr("Sheet"), ChoiceField([(tr("the first with numbers"), "")], "")
        )
        self.columns = form.add(
            tr("Columns"),
            TextField(hint=tr("as their names say")),
            tr(
                "What each column is, in order: z, r, d (a diameter), x, y, bulge, or - where it is not used."
            ),
        )
        self.points: ChoiceField[str] = form.add(
            tr("Rows follow each other"), ChoiceField([(_POINT_WORDS[p], p) for p in POINTS], "auto")
        )
        self.axle: ChoiceField[str] = form.add(
            tr("Axle line"), ChoiceField([(words, word) for word, words in _AXLE_WORDS.items()], "")
        )
        self.axle_at = (
            form.add(tr("Axle line passes through"), NumberField(NUMBER, 0.0), tr("In the file's own unit.")),
            form.add(tr("and"), NumberField(NUMBER, 0.0), tr("In the file's own unit.")),
        )
        self.bodies = add_ticks(form, tr("Bodies"))
        self.layers = add_ticks(form, tr("Layers"))
        self.colours = add_ticks(form, tr("Colours"))
        self.kinds = add_ticks(form, tr("Kinds"))

    def _joins(self, form: Form, length: Kind) -> None:
        self.join = form.add(
            tr("Join ends within"),
            NumberField(length, JOIN_MM, above=0.0),
            tr("Ends of lines and arcs nearer than this belong together."),
        )
        self.close = form.add("", CheckField(tr("close an open outline by a straight line")))
        self.mirror = form.add("", CheckField(tr("complete a half by its mirror image")))
        self.drop_open = form.add("", CheckField(tr("leave open chains out")))

    def _points(self, form: Form, length: Kind) -> None:
        self.ball = form.add(
            tr("Radius of the probe ball"),
            NumberField(length, 0.0, least=0.0, most=LARGEST_BALL_MM),
            tr("Where the points are the ball's centres; 0 for points on the surface."),
        )
        self.share = form.add(
            tr("Share of points inside"),
            NumberField(PERCENT, 100.0, least=50.0, most=100.0),
            tr("Points beyond it are left outside and shown. 100 keeps every one."),
        )

    # The request

    def options(self) -> Options:
        """Return the part of the request that stands on this page.

        Raises:
            ValueError: a field cannot be read, or nothing is left to be read.
        """
        how: Options = {
            "layers": _chosen(self.layers, "layer"),
            "colours": _chosen(self.colours, "colour"),
            "kinds": _chosen(self.kinds, "kind"),
            "bodies": tuple(int(k) for k in _chosen(self.bodies, "body")),
            "join_mm": self.join.number(),
            "close": self.close.read(),
            "mirror": self.mirror.read(),
            "drop_open": self.drop_open.read(),
            "axle": self.axle.read() or "x",
            "axle_named": bool(self.axle.read()),
            "axle_at": (self.axle_at[0].number(), self.axle_at[1].number()),
            "points": self.points.read(),
            "columns": self._columns(),
            "sheet": self.sheet.read(),
            "ball_mm": self.ball.number(),
            "quantile": self.share.number() / 100.0,
        }
        return how

    def _columns(self) -> tuple[str, ...]:
        words = self.columns.read().replace(",", " ").replace(";", " ").lower().split()
        wrong = [word for word in words if word not in _MEANINGS]
        if wrong:
            raise FieldError(
                tr(
                    "{wrong!r} is no column: write z, r, d, x, y, bulge or -, for example 'z r'.",
                    wrong=wrong[0],
                )
            )
        return tuple("" if word == "-" else word for word in words)

    # The answer

    def show(self, found: ReadOutline) -> None:
        """Offer what the file holds."""
        for field, counts in (
            (self.layers, found.layers),
            (self.colours, found.colours),
            (self.kinds, found.kinds),
        ):
            off = found.off if field is self.layers else ()
            field.offer([_counted(name, n, name in off) for name, n in counts.items()])
        self.bodies.offer(
            [
                Tick(
                    str(k),
                    _box(b.low, b.high),
                    tr("{triangles} triangles", triangles=b.triangles),
                    "" if b.is_closed else tr("open surface"),
                )
                for k, b in enumerate(found.bodies)
            ]
        )
        if found.sheets:
            sheets = [(tr("the first with numbers"), ""), *((name, name) for name in found.sheets)]
            self.sheet.offer(sheets, self.sheet.read())
        if found.columns:
            self.columns.line.setPlaceholderText(" ".join(c or "-" for c in found.columns))
        self._show_what_counts(found)

    def _show_what_counts(self, found: ReadOutline | None) -> None:
        """Show the fields that such a file has; before an answer its suffix decides."""
        form = self._form
        if found is None:
            is_table, is_space = self._is_table, self._is_space
            is_drawing = not (is_table or is_space)
        else:
            is_drawing = found.kind == "drawing"
            is_table = not is_drawing and not self._is_space
            is_space = self._is_space or found.kind == "mesh" or "x" in found.columns
        shown: list[tuple[bool, tuple[Field, ...]]] = [
            (is_drawing, (self.join, self.close, self.mirror, self.drop_open)),
            (is_table, (self.columns, self.points)),
            (is_space, (self.axle, *self.axle_at)),
            (not is_drawing, (self.ball, self.share)),
        ]
        for on, fields in shown:
            for field in fields:
                form.show_field(field, on)
        form.show_field(self.sheet, found is not None and len(found.sheets) > 1)
        for ticks in (self.layers, self.colours, self.kinds, self.bodies):
            several = len(ticks.offered) > 1 or any(not tick.is_on for tick in ticks.offered)
            form.show_field(ticks, several)


def _chosen(ticks: TicksField, what: str) -> tuple[str, ...]:
    """Return the ticked keys where they are not those that are read anyway."""
    if not ticks.offered or ticks.is_as_first:
        return ()
    chosen = ticks.read()
    if not chosen:
        raise FieldError(tr("No {what} is ticked: tick at least one.", what=what))
    return chosen


def _counted(name: str, count: int, is_off: bool) -> Tick:
    return Tick(
        name,
        name or tr("(no name)"),
        str(count),
        _OFF if is_off else "",
        not is_off,
        _WHY_OFF if is_off else "",
    )


def _box(low: tuple[float, ...], high: tuple[float, ...]) -> str:
    return " × ".join(f"{b - a:.1f}" for a, b in zip(low, high, strict=True))
