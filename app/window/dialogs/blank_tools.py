"""What a blank's own tools can make beside it, as a page of its details: the forge's answer."""

from __future__ import annotations

from app.language import tr
from app.project.project import Project
from app.window.dialogs.form import Form
from app.window.dialogs.typed_fields import NUMBER, ChoiceField, FieldError, NumberField, TextField, length
from geometry.shape.blank import Blank, ToolLimits

_ABOUT = tr(
    "Variants from one set of tools: the charge sets the height of the ring, whose end is free; the closing "
    "height sets the disc; inserts set bore and dish. Blanks that name this one under 'Variant of' are held "
    "against these limits. An empty field is still asked of the forge."
)


class ToolsPage:
    """The fields of the page."""

    def __init__(self, form: Form, project: Project, blank: Blank) -> None:
        self._before = blank.tools
        tools, kind = blank.tools or ToolLimits(), length(project.display_unit)

        form.note(_ABOUT)
        rows = (
            (tr("Charge, kg"), "charge_{}_kg", NUMBER, 0.0, tr("Mass of a forging without flash.")),
            (
                tr("Closing height"),
                "closing_{}_mm",
                kind,
                None,
                tr("Against this blank's own; below 0 the dies stop lower."),
            ),
            (tr("Disc"), "disc_{}_mm", kind, 0.0, tr("Least height inside the ring.")),
        )
        self.limits: dict[str, NumberField] = {}
        for words, name, of, least, tip in rows:
            for end, said in (("low", tr("least")), ("high", tr("greatest"))):
                field = NumberField(of, getattr(tools, name.format(end)), optional=True, least=least)
                self.limits[name.format(end)] = form.add(f"{words}, {said}", field, tip)
        self.inserts = form.add(
            tr("Inserts"),
            ChoiceField[bool | None](
                [(tr("asked"), None), (tr("can be exchanged"), True), (tr("cannot be exchanged"), False)],
                tools.inserts,
            ),
            tr("Punch and face inserts, with which bore and dish may differ."),
        )
        self.source = form.add(tr("Source"), TextField(tools.source, hint=tr("whose answer")))

    def read(self) -> ToolLimits | None:
        """Return the limits; None where nothing was ever said.

        Raises:
            FieldError: a least one is over its greatest.
        """
        values = {name: field.read() for name, field in self.limits.items()}
        for name in ("charge_{}_kg", "closing_{}_mm", "disc_{}_mm"):
            low, high = values[name.format("low")], values[name.format("high")]
            if low is not None and high is not None and low > high:
                what = name.split("_")[0]
                raise FieldError(
                    tr(
                        "{capitalize}: the least is over the greatest; put them in order.",
                        capitalize=what.capitalize(),
                    )
                )
        found = ToolLimits(**values, inserts=self.inserts.read(), source=self.source.read())
        return None if self._before is None and found == ToolLimits() else found
