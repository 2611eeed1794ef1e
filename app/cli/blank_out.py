"""What `blankwright blank` writes: outline, drawing, pages, or a project with the wheels in the blank."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from app.files.atomic import save_bytes
from app.files.kept import save_over
from app.files.project_file import load
from app.files.writers.dxf import write_dxf
from app.files.writers.table import write_table
from app.project import edits
from app.project.edits import EditError
from app.project.project import Project
from app.project.shop import ShopRates
from app.reports.blank_drawing import blank_drawing, spun_drawing
from app.reports.outputs import blank_pdf
from app.studies.blank_variant import VariantCheck
from app.studies.composite import Composite
from app.studies.forging_needs import ForgingSettings
from app.studies.found_blank import as_forged, as_variant, cut_from_blank
from app.studies.machining import WheelMachining
from app.studies.spun import SpunBlank, as_spun_blank
from geometry.errors import GeometryError
from geometry.shape.blank import Blank

#: Kinds of file that the outline is written to.
KINDS = (".dxf", ".csv", ".pdf", ".blankwright")


def check_out(out: Path | None) -> None:
    """Refuse a kind of file that nothing is written to, before anything is computed.

    Raises:
        GeometryError: it is none of KINDS.
    """
    if out is not None and out.suffix.lower() not in KINDS:
        raise GeometryError(f"{out.name}: a blank is written as {', '.join(KINDS[:-1])} or {KINDS[-1]}")


def write(
    out: Path,
    project: Project,
    result: Composite,
    settings: ForgingSettings,
    cut: Sequence[WheelMachining],
    name: str | None,
    for_forge: bool,
    *,
    rates: ShopRates,
    spun: SpunBlank | None = None,
    tools: VariantCheck | None = None,
    with_wheels: bool = False,
    variant_of: Blank | None = None,
) -> str:
    """Write the outline or the pages and return what was done, in words; of the spun blank where it is given.

    Args:
        out: file, of one of KINDS.
        project: holds the wheels.
        result: the blank.
        settings: that it was found with.
        cut: what cutting takes for each wheel.
        name: of the blank; None names it after its wheels.
        for_forge: pages without what is the house's alone.
        rates: that pages tell money by.
        spun: the same wheels' blank forged and spun.
        tools: the blank held against tools, for the house's pages.
        with_wheels: in a project that exists, its wheels of the group are cut from the blank.
        variant_of: blank whose tools it is added as a variant of; None for dies of its own.

    Raises:
        SaveError: the file could not be written.
        EditError: a project that exists lacks a wheel that is to be cut.
    """
    # The pages hold the turned blank as well, and title what is spun themselves.
    kind = "blank" if spun is None or out.suffix.lower() == ".pdf" else "spun blank"
    words = name or f"{kind} of {', '.join(w.name for w in result.wheels)}"
    if out.suffix.lower() == ".csv":
        write_table(out, result.forged.path if spun is None else spun.found.path)
        which = "as forged" if spun is None else "as spun"
        return f"  written to {out}: the outline {which}, lines and arcs exact"
    if out.suffix.lower() == ".pdf":
        priced = replace(project, rates=rates)
        save_bytes(out, blank_pdf(priced, result, settings, cut, words, for_forge, spun, tools))
        return f"  written to {out}: drawing and tables{' for the forge' if for_forge else ''}"
    if out.suffix.lower() == ".dxf":
        if spun is not None:
            write_dxf(out, spun_drawing(words, spun, settings))
            return f"  written to {out}: spun outline, forging and finished wheels on layers of their own"
        write_dxf(out, blank_drawing(words, result, settings))
        return f"  written to {out}: outline as forged in full, usable one, finished wheels chain-dotted"
    return _add(out, project, result, settings, words, spun, with_wheels, variant_of)


def _add(
    out: Path,
    project: Project,
    result: Composite,
    settings: ForgingSettings,
    words: str,
    spun: SpunBlank | None,
    with_wheels: bool,
    variant_of: Blank | None,
) -> str:
    """Add the blank to a project that exists, or write the asked one with its wheels in the blank."""
    is_new = not out.exists()
    # A new file is the project that was asked, so that the wheels bring all that they name.
    held = replace(project, name=out.stem) if is_new else load(out)
    free = edits.free_name(held, edits.BLANK, words)
    made = as_forged(result, free, settings) if spun is None else as_spun_blank(spun, free)
    if variant_of is not None:
        if variant_of not in held.blanks:
            raise EditError(f"{out.name} has no blank '{variant_of.name}' as in the asked project.")
        made = as_variant(made, result, settings, variant_of)
    held = edits.add(held, edits.BLANK, made)
    names = ", ".join(w.name for w in result.wheels)
    if is_new or with_wheels:
        save_over(cut_from_blank(held, free, result.wheels), out)
        done = "written to" if is_new else "added to"
        return f"  {done} {out} as blank '{free}', cut from it: {names}"
    save_over(held, out)
    return f"  added to {out} as blank '{free}'; no wheel is cut from it: --cut puts {names} into it"
