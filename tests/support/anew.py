"""What functions have kept of earlier calls, dropped: what is read then is read anew."""

from __future__ import annotations

import sys


def forget() -> None:
    """Drop what any function of the program has kept."""
    for name, module in list(sys.modules.items()):
        if name.startswith(("geometry.", "app.")):
            for kept in list(vars(module).values()):
                if hasattr(kept, "cache_clear"):
                    kept.cache_clear()
