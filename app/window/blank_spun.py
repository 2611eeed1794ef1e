"""What the window of a blank asks and says of one that is forged and spun."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape

from app.language import spoken, tr
from app.project.project import Project
from app.reports.numbers import Numbers, unit_of
from app.reports.press_words import load_band
from app.studies.composite import Composite
from app.studies.forging_needs import ForgingSettings
from app.studies.machining import WheelMachining
from app.studies.spun import (
    GRAIN,
    ORDER,
    Comparison,
    SpunBlank,
    SpunSettings,
    compared,
    spun_blank,
    spun_machining,
)
from app.units import format_length
from app.window.dialogs.form import Form
from app.window.dialogs.typed_fields import ANGLE, NUMBER, PER_CENT, ChoiceField, Kind, NumberField
from geometry.forging.spinning import Spinning


@dataclass(frozen=True, eq=False)
class SpunFound:
    """A spun blank, what cutting takes from it, and its money beside the turned one's."""

    blank: SpunBlank
    cut: tuple[WheelMachining, ...]
    compared: tuple[Comparison, ...]


def find_spun(
    project: Project,
    turned: Composite,
    settings: ForgingSettings,
    spinning: SpunSettings,
    cut: Sequence[WheelMachining],
) -> SpunFound:
    """Return the spun blank of a turned one's wheels.

    Raises:
        GeometryError: there is none; says why.
    """
    blank = spun_blank(project, turned, settings, spinning)
    spun_cut = spun_machining(project, blank)
    return SpunFound(blank, spun_cut, compared(cut, spun_cut, spinning))


class SpunAsked:
    """The fields of the page on spinning."""

    def __init__(self, form: Form, kind: Kind) -> None:
        start = Spinning()
        self.spun = form.add(
            tr("Blank"),
            ChoiceField([(tr("turned"), False), (tr("forged and spun"), True)], False),
            tr("Spun: a short thick ring is forged, and its barrel drawn out over a mandrel."),
        )
        share = tr("Of the wall, in all passes; 50 is usual.")
        self.reduction = form.add(tr("Reduction"), NumberField(PER_CENT, 100.0 * start.reduction), share)
        self.per_pass = form.add(
            tr("of one pass"), NumberField(PER_CENT, 100.0 * start.per_pass), tr("From memory.")
        )
        self.wall = form.add(
            tr("Least spun wall"), NumberField(kind, start.wall_mm, above=0.0), tr("From memory.")
        )
        self.mandrel = form.add(
            tr("Mandrel's draft"),
            NumberField(ANGLE, start.mandrel_deg),
            tr("It opens towards the inner end."),
        )
        self.rollers = form.add(
            tr("Rollers' flank"),
            NumberField(ANGLE, start.roller_deg),
            tr("Steeper flanks outside are filled."),
        )
        self.nose = form.add(
            tr("Rollers' nose"),
            NumberField(kind, start.nose_mm, least=0.0),
            tr("Narrower hollows are filled."),
        )
        self.back_flow = form.add(
            tr("Back-flow"),
            NumberField(kind, start.back_flow_mm, least=0.0),
            tr("Wall kept beside the disc's root."),
        )
        self.trim = form.add(
            tr("Trim"), NumberField(kind, start.trim_mm, least=0.0), tr("Cut off after spinning.")
        )
        self.ring_wall = form.add(
            tr("Forged ring's wall"),
            NumberField(kind, None, optional=True, above=0.0, empty=tr("as the lip")),
            tr("At its end; as thick as the thickest spun wall where empty."),
        )
        price = tr("In the project's currency.")
        self.mandrel_price = form.add(
            tr("Price of mandrel"),
            NumberField(NUMBER, None, optional=True, least=0.0, empty=tr("asked")),
            price,
        )
        self.spinning_price = form.add(
            tr("Price of spinning"),
            NumberField(NUMBER, None, optional=True, least=0.0, empty=tr("asked")),
            price,
        )

    def settings(self) -> SpunSettings | None:
        """Return what the fields ask for; None for a turned blank.

        Raises:
            ValueError: a field holds no number that can be taken.
            GeometryError: a value is out of bounds.
        """
        if not self.spun.read():
            return None
        by = Spinning(
            reduction=self.reduction.number() / 100.0,
            per_pass=self.per_pass.number() / 100.0,
            wall_mm=self.wall.number(),
            mandrel_deg=self.mandrel.number(),
            roller_deg=self.rollers.number(),
            nose_mm=self.nose.number(),
            back_flow_mm=self.back_flow.number(),
            trim_mm=self.trim.number(),
            ring_wall_mm=self.ring_wall.read(),
        )
        return SpunSettings(by, self.mandrel_price.read(), self.spinning_price.read())


def spun_head(spun: SpunFound, project: Project) -> str:
    """Return what stands over the picture of a spun blank."""
    unit, blank, found = unit_of(project), spun.blank, spun.blank.found
    wall, root, tall, thin, wider = (
        format_length(x, unit)
        for x in (
            found.ring_wall_mm,
            found.thickest_mm,
            found.ring_height_mm,
            found.wall_mm,
            found.widened_mm,
        )
    )
    low, high = blank.steps[-1].low_mn, blank.steps[-1].high_mn
    numbers = Numbers(unit)
    load = spoken(load_band(numbers, low, high))
    mass, mandrel = numbers.mass, blank.mandrel_in(numbers.length, f" {numbers.unit}")
    more = "-" if blank.saves_kg > 0.0 else "+"
    lines = [
        tr(
            "<b>{forged_kg}</b> as forged; usable: {mass_kg} forged, {spun_kg} as spun; turned {turned_kg}: "
            "{more}{saves_kg}",
            forged_kg=mass(blank.forged.mass_kg),
            mass_kg=mass(blank.mass_kg),
            spun_kg=mass(blank.spun_kg),
            turned_kg=mass(blank.turned_kg),
            more=more,
            saves_kg=mass(abs(blank.saves_kg)),
        ),
        tr(
            "forged ring {wall} at its end, {root} at its root, {tall} high; spun wall "
            "{thin} at least, reduction {reduction:.0%} in {passes_words}; end widened by "
            "{wider}",
            wall=wall,
            root=root,
            tall=tall,
            thin=thin,
            reduction=found.reduction,
            passes_words=spoken(blank.passes_words),
            wider=wider,
        ),
        tr("{mandrel}; last press {load_band}", mandrel=mandrel, load_band=load),
        *(f"{escape(row.wheel)}: {escape(spoken(row.words))}" for row in spun.compared),
        *(escape(spoken(warning)) for warning in blank.warnings),
        f"{spoken(ORDER)} {spoken(GRAIN)}",
    ]
    return "<br>".join(lines)
