"""The blank of a group as a drawing for the forge, to be written as DXF."""

from __future__ import annotations

from app.files.writers.dxf import BLANK, WHEEL, Drawing, Layer
from app.project.caution import CAUTION
from app.reports.numbers import Numbers
from app.reports.stage_drawing import DATUM, GRIP, axle_layer, broken, holding_lines
from app.studies.composite import Composite
from app.studies.forging_needs import ForgingSettings
from app.studies.spun import GRAIN, NOT_IN, ORDER, SpunBlank
from app.studies.stage_holding import JAW_MM, chucked
from geometry.shape.curve import Path

#: Layer of what wheels can rely on.
USABLE = "USABLE"
#: Layer of the outline beyond the hole in the hub.
PIERCED = "PIERCED"
_FRAME = "mm, z along the axle, + outboard, r from it; where mounting faces lie in z stands below"


def blank_drawing(name: str, result: Composite, settings: ForgingSettings) -> Drawing:
    """Return a group's blank for the forge: outline as forged in full, usable one, wheels phantom, notes."""
    how, (z, _), forged = settings.how, result.parting_mm, result.forged
    r = forged.sizes.rim_mm
    held, chucking = _chucking(forged.path, settings)
    wheels = tuple(
        Layer(f"{WHEEL} {words}", (path,), color=8, chain_dotted=True) for words, path in result.held
    )
    notes = (
        name,
        _FRAME,
        f"draft {how.outside_deg:g} deg outside, {how.inside_deg:g} inside, fillets R{how.fillet_mm:g} least",
        f"parting line at z {z:.2f}, r {r:.2f}{'' if how.parting_mm is None else ', as asked'}; "
        f"{forged.mass_kg:.2f} kg as forged",
        *_hole_words(result, settings),
        *chucking,
        f"{BLANK}: as forged, what dies are drawn to{_corner_words(result)}; closure and wear add",
        f"{USABLE}: what wheels rely on, {result.mass_kg:.2f} kg: "
        + (
            f"the same as {BLANK}, the stock holds what may be missing"
            if settings.holds_missing
            else f"{BLANK} less all that may be missing by starting values"
        ),
        *(f"{w.name}: mounting face at z {w.seat_mm:.2f}" for w in result.wheels),
        CAUTION,
    )
    low, high, _, _ = forged.path.bounds
    hole = [Layer(PIERCED, (forged.lathe,), color=6)] if settings.pierced_mm is not None else []
    layers = (
        Layer(BLANK, (forged.path,)),
        *hole,
        Layer(USABLE, (result.path,), color=5, dashed=True),
        *wheels,
        _parting(z, r),
        *held,
        axle_layer(low, high),
    )
    return Drawing(layers, broken(notes))


def _hole_words(result: Composite, settings: ForgingSettings) -> list[str]:
    if settings.pierced_mm is None:
        return []
    return [
        f"{PIERCED}: hub pierced {settings.pierced_mm:.2f} wide after forging, slug "
        f"{result.forged.slug_kg:.2f} kg"
    ]


def _corner_words(result: Composite) -> str:
    """Return which convex corners are drawn in."""
    if result.corner is None:
        return ", convex corners those of the stock"
    return f", convex corners R{result.corner.corner_mm:g} or more"


def spun_drawing(name: str, spun: SpunBlank, settings: ForgingSettings) -> Drawing:
    """Return a group's spun blank: outline as spun, forging and finished wheels on layers of their own.

    Parting line, datum and chucking place are those of the forging.
    """
    how, found, by = settings.how, spun.found, spun.settings.by
    z, r = found.parting_mm
    held, chucking = _chucking(found.preform.path, settings)
    wheels = tuple(
        Layer(f"{WHEEL} {words}", (path,), color=8, chain_dotted=True) for words, path in spun.held
    )
    notes = (
        name,
        _FRAME,
        f"SPUN: as spun and trimmed, {spun.spun_kg:.2f} kg; PREFORM: the ring that is spun, "
        f"{spun.mass_kg:.2f} kg; both usable outlines",
        f"FORGED: what dies are drawn to, {spun.forged.mass_kg:.2f} kg: PREFORM with all that may be missing "
        "by starting values; closure and wear add",
        f"forging: draft {how.outside_deg:g} deg outside, {how.inside_deg:g} inside, fillets "
        f"R{how.fillet_mm:g} least; parting line at z {z:.2f}, r {r:.2f}; "
        f"ring {found.ring_wall_mm:.2f} thick at its end, "
        f"{found.ring_height_mm:.2f} high from the disc's root",
        *(f"forging: {words}" for words in chucking),
        f"{spun.mandrel_words}; its draft {by.mandrel_deg:g} deg; rollers: flanks {by.roller_deg:g} deg at "
        f"most, nose R{by.nose_mm:g}; spinning begins at z {found.root[0]:.2f}",
        f"reduction {100.0 * found.reduction:.1f} per cent in {spun.passes_words}; "
        f"spun wall {found.wall_mm:.2f} least; "
        f"{by.trim_mm:g} trimmed",
        ORDER,
        GRAIN,
        NOT_IN,
        *(f"{w.name}: mounting face at z {w.seat_mm:.2f}" for w in spun.wheels),
        CAUTION,
    )
    preform = Layer("PREFORM", (found.preform.path,), color=1)
    forged = Layer("FORGED", (spun.forged.path,), color=2)
    low, high, _, _ = found.path.bounds
    layers = (
        Layer("SPUN", (found.path,)),
        forged,
        preform,
        *wheels,
        _parting(z, r),
        *held,
        axle_layer(low, high),
    )
    return Drawing(layers, broken(notes))


def _parting(z: float, r: float) -> Layer:
    return Layer("PARTING", lines=(((z, r - 10.0), (z, r + 20.0)),), color=1, chain_dotted=True)


def _chucking(path: Path, settings: ForgingSettings) -> tuple[list[Layer], list[str]]:
    """Return datum and jaws of the first clamping, brake side first, as layers and in words."""
    jaws = JAW_MM
    held, length = chucked(path, jaws), Numbers("mm").length
    datum, grip = holding_lines(held, jaws)
    layers = [Layer(DATUM, lines=datum, color=3), *([Layer(GRIP, lines=grip, color=1)] if grip else [])]
    words = [f"datum: {held.datum_words(length)}", f"chucked {held.grip_words(length)}"]
    return layers, [
        *words,
        *([held.jaws.words(length)] if held.jaws is not None else []),
        *_ring_end(path, settings),
    ]


def _ring_end(path: Path, settings: ForgingSettings) -> list[str]:
    """Return what the ring's inboard end is longer for, from the end on; nothing where it is not longer."""
    what = (
        ("trim", settings.trim_mm),
        ("test ring", settings.test_ring_mm),
        ("grip for the chuck while the street side is turned", settings.grip_mm),
    )
    parts = [f"{name} {mm:g}" for name, mm in what if mm > 0.0]
    if not parts:
        return []
    return [
        f"inboard ring end, from z {path.bounds[0]:.2f}: {', then '.join(parts)}; none of it is a wheel's"
    ]
