"""How many random examples a slow test takes: a share of what the profile asks for, so it explores too."""

from __future__ import annotations

from hypothesis import settings

#: Projects of every kind are slow to make and to write.
OF_PROJECTS = 0.5


def share(part: float) -> int:
    """Return this share of the examples of the profile in force; one at least."""
    return max(1, round(settings.default.max_examples * part))  # type: ignore[union-attr]
