"""Steps from one format of the project file to the next.

A step is a pure function from the whole JSON tree of format n to that of format n + 1, without the
`format` key itself. Each raise of the format adds one step here and one golden file beside the tests of
the project file, kept for ever.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

Tree = dict[str, Any]
Step = Callable[[Tree], Tree]

#: The format that this program writes.
FORMAT = 13


def _with_brakes(tree: Tree) -> Tree:
    """Format 2 says which brake a shape shows; what was written before says nothing of it."""
    return tree


def _with_conditions(tree: Tree) -> Tree:
    """Format 3 holds conditions of the road and trial fits; nobody had chosen or recorded any before."""
    return tree


def _with_releases(tree: Tree) -> Tree:
    """Format 4 holds the settings of section sheets and what was released; nothing was released before."""
    return tree


def _with_tolerances(tree: Tree) -> Tree:
    """Format 5 holds tolerances, price and dies of blanks, and notes on machining; there were none before."""
    return tree


def _with_programme(tree: Tree) -> Tree:
    """Format 6 holds the die programme: supply of blanks, compromises, settings; there was none before."""
    return tree


def _with_spun(tree: Tree) -> Tree:
    """Format 7 says how a spun blank comes about; nobody had said before, and no price changes its meaning.

    A mandrel that the price of the dies held stays in it: it has no price of its own until one is given.
    """
    return tree


def _with_strength(tree: Tree) -> Tree:
    """Format 8 says how a project screens for strength; nobody had said before."""
    return tree


def _with_tools(tree: Tree) -> Tree:
    """Format 9 holds what a set of tools can make beside its own blank; until then it was all asked."""
    return tree


def _with_tested_drawings(tree: Tree) -> Tree:
    """Format 10 says which drawing a test was made on, how an impact was run, and what a test costs.

    Nobody had said before: a test recorded until then is of no known drawing.
    """
    return tree


def _with_versions(tree: Tree) -> Tree:
    """Format 11 says from which version a wheel was made, and why; nobody had said before."""
    return tree


def _with_parameters(tree: Tree) -> Tree:
    """Format 12 holds named parameters and constraints of outlines; nobody had set any before."""
    return tree


def _with_presses(tree: Tree) -> Tree:
    """Format 13 holds presses at hand, slugs of pierced blanks, added dimensions, side and coating of wheels.

    Nobody had said before.
    """
    return tree


#: The step that leads away from each older format.
STEPS: Mapping[int, Step] = {
    1: _with_brakes,
    2: _with_conditions,
    3: _with_releases,
    4: _with_tolerances,
    5: _with_programme,
    6: _with_spun,
    7: _with_strength,
    8: _with_tools,
    9: _with_tested_drawings,
    10: _with_versions,
    11: _with_parameters,
    12: _with_presses,
}


def migrated(tree: Tree, written: int, steps: Mapping[int, Step] = STEPS, newest: int = FORMAT) -> Tree:
    """Return the tree of format `written` as one of format `newest`."""
    for step in range(written, newest):
        tree = steps[step](tree)
    return tree
