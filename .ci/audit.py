"""What pip-audit's reports say, in a few lines; exit code 1 where a weakness is known."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any


def told(reports: dict[str, dict[str, Any] | None]) -> tuple[list[str], int]:
    """Return the lines to print, and the exit code.

    Args:
        reports: by name of the lock; None where pip-audit gave none, so that nothing is known of that lock.
    """
    lines = []
    code = 0
    for name, report in reports.items():
        parts = report["dependencies"] if report else []
        asked = [part for part in parts if "vulns" in part]
        if not report:
            lines.append(f"{name}: no report: nothing is known of it")
        else:
            lines.append(f"{name}: {len(asked)} of {len(parts)} packages looked up")
        if len(asked) < len(parts):
            others = ", ".join(part["name"] for part in parts if "vulns" not in part)
            lines.append(f"  not known, the service has no answer: {others}")
        for part in asked:
            for weakness in part["vulns"]:
                mended = " or ".join(weakness["fix_versions"]) or "no version yet"
                also = ", ".join([weakness["id"], *weakness["aliases"]])
                lines.append(f"  {part['name']} {part['version']}: {also}; mended in {mended}")
                code = 1
    return lines, code


def _read(path: Path) -> dict[str, Any] | None:
    try:
        report: dict[str, Any] = json.loads(path.read_text("utf-8"))
    except (OSError, ValueError):
        return None
    return report


if __name__ == "__main__":
    lines, code = told({Path(name).name.removesuffix(".json"): _read(Path(name)) for name in sys.argv[1:]})
    print("\n".join(lines))
    sys.exit(code)
