"""Blanks: what a wheel is cut from."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from geometry.shape.held import AddedDimension, Constraint, Parameter
from geometry.shape.outline import Corner


class Supply(StrEnum):
    """Where a blank comes from: own dies, bought, forged and spun, or a plain block or ring without dies."""

    OWN = "own"
    BOUGHT = "bought"
    SPUN = "spun"
    BLOCK = "block"


class BlankState(StrEnum):
    """How far a blank has come."""

    IDEA = "idea"
    QUOTED = "quoted"
    ORDERED = "ordered"
    TRIED_OUT = "tried out"
    PROVED = "proved"
    RETIRED = "retired"


class Cause(StrEnum):
    """Why a forging differs from its drawing; it says in which direction metal may be missing."""

    CLOSURE = "die closure"
    SIZE = "size within one die"
    MISMATCH = "mismatch of the dies"
    RING_END = "ring end not filled"
    CORNERS = "corners not filled"
    ROUND = "out of round"
    FLAT = "out of flat"
    DENTS = "dents and laps"
    GRAIN = "coarse grain"
    CENTRING = "centring in the chuck"
    FLASH = "flash line"
    WEAR = "die wear"


@dataclass(frozen=True)
class Tolerance:
    """What a blank may differ by for one cause.

    Attributes:
        minus_mm: metal that may be missing; what it means by direction says geometry/forging/usable.py.
        plus_mm: metal that may be surplus: it adds mass and chips, and takes nothing off what can be cut.
        source: what both rest on.
    """

    cause: Cause
    minus_mm: float = 0.0
    plus_mm: float = 0.0
    source: str = ""


@dataclass(frozen=True)
class PriceStep:
    """What a piece costs where at least so many are ordered in a year."""

    pieces: int
    price: float


@dataclass(frozen=True)
class SpunFrom:
    """How a forged-and-spun blank comes about; money in the project's currency, None where nobody has said.

    Attributes:
        ring: outline of the forging that it is drawn from, in the blank's own frame; empty if not known.
        mandrel_price: of the mandrel for this diameter and bore, paid once beside the dies; None where the
            price of the dies holds it, or it is still asked.
        spinning_price: of spinning one piece, paid beside the price of the piece.
        spinning_min: minutes of spinning one piece; they are paid at the shop's hour where no price is given.
        reduction: greatest of any metal, 1 - spun wall / forged wall. passes: number of them.
        wall_mm: least wall as spun. trim_mm: length of the spun end that is cut off.
        source: what the numbers rest on.
    """

    ring: tuple[Corner, ...] = ()
    mandrel_price: float | None = None
    spinning_price: float | None = None
    spinning_min: float | None = None
    reduction: float | None = None
    passes: int | None = None
    wall_mm: float | None = None
    trim_mm: float | None = None
    source: str = ""

    def spinning(self, hour_price: float) -> float | None:
        """Return the money of spinning one piece: its price, else its minutes at an hour's price."""
        if self.spinning_price is not None:
            return self.spinning_price
        return None if self.spinning_min is None else self.spinning_min / 60.0 * hour_price


@dataclass(frozen=True)
class Quote:
    """What a forge offered for a blank; money in the project's currency, None where it says nothing.

    Attributes:
        forge, on: who and when, YYYY-MM-DD.
        holder, inserts: price of the outer tools that blanks of one diameter share, and of what is this
            blank's own.
        piece: price of a forging. run_setup: of each forging run.
        payment: steps of payment, plain words.
    """

    forge: str
    on: str = ""
    holder: float | None = None
    inserts: float | None = None
    piece: float | None = None
    run_setup: float | None = None
    least_run: int | None = None
    lead_weeks: float | None = None
    payment: str = ""


@dataclass(frozen=True)
class ToolLimits:
    """What one set of tools can make beside the blank that it was cut for, as its forge answered.

    None where that is still asked. The ring's end is free: its height follows the charge.

    Attributes:
        charge_low_kg, charge_high_kg: mass of a forging without flash.
        closing_low_mm, closing_high_mm: how much higher than for this blank the dies may stop, lower below 0.
        disc_low_mm, disc_high_mm: thinnest and thickest disc inside the ring.
        inserts: punch and face inserts can be exchanged, so that bore and dish may differ.
        source: whose answer.
    """

    charge_low_kg: float | None = None
    charge_high_kg: float | None = None
    closing_low_mm: float | None = None
    closing_high_mm: float | None = None
    disc_low_mm: float | None = None
    disc_high_mm: float | None = None
    inserts: bool | None = None
    source: str = ""


@dataclass(frozen=True)
class Blank:
    """A forged blank as drawn.

    Attributes:
        corners: closed half-section in the blank's own frame; edges on the axle line are not skin.
        skin_mm: depth of as-forged skin that must come off everywhere.
        source: where the outline comes from, plain words.
        tolerances: what the forging may differ by, each cause once.
        parting_mm: z at which the dies meet on the outside wall; None where nobody has said.
        measured_least, measured_greatest: names of blanks of this project that hold the least and greatest
            outline measured on `measured_pieces` forgings; the least one replaces the minus sides of the
            forging's own tolerances, the greatest one their plus sides.
        price: of a bought blank, or of a piece from own dies without its die; in the project's currency.
            Of a spun blank without spinning, where `spun` says what that costs.
        least_order, lead_weeks: pieces and weeks.
        die_cost, die_shared_by: price of the dies (with a holder: of the inserts; with a mandrel: with it,
            unless `spun` has its own price),
            and the wheels that it is shared by.
        holder: name of the programme's holder that the dies stand in; None for dies that share nothing.
        variant_of: name of the blank whose tools also yield this one, with another charge, closing height
            or insert; its dies are not paid again.
        tools: what this blank's own tools can make beside it; None where nobody has said.
        slug_kg: of the slug that was pierced out of its hub and is kept as solid scrap: the log holds it, the
            outline does not. None where none was, or nobody has said.
        proof_cost: of tryout, first forgings and proof tests.
        run_setup, least_run: price of each forging run, and its least pieces.
        pieces_hour: forged in an hour of the press, without set-up. setup_hours: of the press for a run.
        price_steps: price a piece by yearly order, rising pieces; the price holds below the first.
        quotes: of forges, as they came.
        spun: how a spun blank comes about; its outline is the spun one, trimmed. None for other blanks, and
            where nobody has said.
    """

    name: str
    corners: tuple[Corner, ...]
    supply: Supply = Supply.OWN
    state: BlankState = BlankState.IDEA
    skin_mm: float = 0.0
    source: str = ""
    tolerances: tuple[Tolerance, ...] = ()
    parting_mm: float | None = None
    measured_least: str | None = None
    measured_greatest: str | None = None
    measured_pieces: int | None = None
    price: float | None = None
    least_order: int | None = None
    lead_weeks: float | None = None
    die_cost: float | None = None
    die_shared_by: int | None = None
    holder: str | None = None
    variant_of: str | None = None
    proof_cost: float | None = None
    run_setup: float | None = None
    least_run: int | None = None
    pieces_hour: float | None = None
    setup_hours: float | None = None
    price_steps: tuple[PriceStep, ...] = ()
    quotes: tuple[Quote, ...] = ()
    spun: SpunFrom | None = None
    tools: ToolLimits | None = None
    slug_kg: float | None = None
    parameters: tuple[Parameter, ...] = ()
    constraints: tuple[Constraint, ...] = ()
    dimensions: tuple[AddedDimension, ...] = ()
    visible: bool = True
    locked: bool = False
    notes: dict[str, object] = field(default_factory=dict)

    @property
    def tools_cost(self) -> float | None:
        """What is paid once for its tools: dies, and the mandrel where it has a price of its own.

        None where the dies have no price: the mandrel alone is not the price of the tools.
        """
        mandrel = self.spun.mandrel_price if self.spun is not None else None
        return None if self.die_cost is None else self.die_cost + (mandrel or 0.0)

    def piece_price(self, hour_price: float) -> float | None:
        """Return what a piece costs without its tools, spinning counted; None where it has no price.

        Args:
            hour_price: of the shop, for spinning that is known in minutes alone.
        """
        if self.price is None or self.spun is None:
            return self.price
        return self.price + (self.spun.spinning(hour_price) or 0.0)
