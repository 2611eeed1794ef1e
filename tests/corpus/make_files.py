"""Write the corpus: `python -m tests.corpus.make_files`. The same files come out every time.

The corpus holds brake outlines as they arrive from customers, each with one defect that the handbook names
(brakes-and-gaps.md section 4 and annexes A, B, E), or several at once. It was made from the handbook alone,
without a look at the readers, and stays so: a file that a reader cannot take is a finding, not a reason to
change the file.

To add a file:

1. Choose the module of its kind (`drawings_*` for DXF and SVG, `tables`, `workbooks`, `scans`, `meshes`;
   `several` for more than one defect) and yield one more case from it. Write the file with the small writers
   (`write_dxf`, `write_svg`, `write_mesh`), in plain text where it can be.
2. State its truth from the shape's own definition (`shapes`, `bodies`): the outline in (z, r) mm, what a
   person must answer, what must be said. truth.py says what each entry means.
3. Run this module, then `python -m pytest tests/corpus`, and commit both the files and truth.json.

Inputs that are meant to do harm stand in `hostile/`.
"""

from collections.abc import Iterator
from itertools import chain

from tests.corpus import (
    drawings_clutter,
    drawings_curves,
    drawings_ezdxf,
    drawings_lines,
    drawings_planes,
    drawings_svg,
    drawings_units,
    meshes,
    meshes_3mf,
    scans,
    several,
    tables,
    workbooks,
)
from tests.corpus.cases import Case
from tests.corpus.truth import FILES, TRUTH_FILE, as_json

GROUPS = (
    drawings_units,
    drawings_planes,
    drawings_lines,
    drawings_clutter,
    drawings_curves,
    drawings_ezdxf,
    drawings_svg,
    tables,
    workbooks,
    scans,
    meshes,
    meshes_3mf,
    several,
)


def cases() -> Iterator[Case]:
    """Every file with its truth."""
    return chain.from_iterable(group.cases() for group in GROUPS)


def main() -> None:
    """Write all files and their truth; remove files that are no longer made."""
    FILES.mkdir(exist_ok=True)
    made = list(cases())
    names = {item.truth.file for item in made}
    assert len(names) == len(made), "two files of the same name"
    for old in FILES.iterdir():
        if old.name not in names:
            old.unlink()
    for item in made:
        (FILES / item.truth.file).write_bytes(item.content)
    TRUTH_FILE.write_text(as_json([item.truth for item in made]), "utf-8", newline="\n")


if __name__ == "__main__":
    main()
