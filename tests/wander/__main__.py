"""Press anything in any window: `python -m tests.wander --seconds 240 --seed 1 [--language de] [PROJECT]`.

Nobody works like this, and that is its use: buttons, fields, lists, pictures, keys and menus of the window,
its dialogs and all windows beside it are pressed, typed into and dragged at random, several of them open at
once and at work, in an order that no test thought of. Files that are asked for are samples and the corpus of
imports; what is saved goes into a folder that is thrown away; nothing is printed. Errors, and warnings of Qt,
are told with what was done before. The exit code is 1 where there was one.
"""

from __future__ import annotations

import argparse
import faulthandler
import os
import tempfile
from pathlib import Path


def main() -> int:
    """Return 0, or 1 where an error came up."""
    asked = argparse.ArgumentParser(prog="python -m tests.wander", description=__doc__)
    asked.add_argument(
        "project", nargs="?", type=Path, help="a copy of it is opened; else a sample by the seed"
    )
    asked.add_argument("--seconds", type=float, default=240.0)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--language", default="en")
    words = asked.parse_args()
    os.environ["QT_QPA_PLATFORM"] = "offscreen"
    with tempfile.TemporaryDirectory(prefix="blankwright-wander-", ignore_cleanup_errors=True) as name:
        folder = Path(name)
        for kind in ("STATE", "CONFIG"):
            os.environ[f"XDG_{kind}_HOME"] = str(folder / kind.lower())
        from app import language, resources

        language.choose(words.language)  # before any window is loaded
        from tests.wander.hands import Hands

        samples = resources.samples()
        hands = Hands(words.project or samples[words.seed % len(samples)], folder, words.seed)
        faulthandler.dump_traceback_later(words.seconds + 120.0, exit=True)  # it hangs
        hands.work(words.seconds)
        for trouble in hands.troubles:
            print(trouble)
        print(f"seed {words.seed}: {hands.steps} steps, {len(hands.troubles)} errors", flush=True)
        return 1 if hands.troubles else 0


if __name__ == "__main__":
    code = main()
    os._exit(code)  # whatever dialog is open, and whatever still works beside it
