"""What the window remembers from run to run: recent files, theme, sizes."""

from __future__ import annotations

import json
from pathlib import Path

from platformdirs import user_cache_path, user_config_path
from PySide6.QtCore import QByteArray, QSettings

from app.language import LANGUAGES
from app.studies.executor import SERIAL

_MOST_RECENT, _MOST_REPORTS = 10, 200


class Settings:
    """The user's settings, in one small text file.

    Attributes:
        cache: folder for what can be made anew.
    """

    def __init__(self, path: Path | None = None) -> None:
        self.cache = path.parent / "cache" if path else user_cache_path("blankwright", appauthor=False)
        where = path or user_config_path("blankwright", appauthor=False) / "window.ini"
        self._settings = QSettings(str(where), QSettings.Format.IniFormat)

    @property
    def recent(self) -> list[Path]:
        """Files opened or saved last, newest first, that are still there."""
        value = self._settings.value("recent", [])
        names = [value] if isinstance(value, str) else list(value) if isinstance(value, list) else []
        return [Path(name) for name in names if isinstance(name, str) and Path(name).is_file()]

    def remember(self, path: Path) -> None:
        """Put a file at the top of the recent ones."""
        whole = path.absolute()
        names = [str(whole), *(str(p) for p in self.recent if p != whole)]
        self._settings.setValue("recent", names[:_MOST_RECENT])

    def reports(self, project: str, wheel: str) -> list[Path]:
        """Return the reports stored of a wheel of a project, newest first, that are still there."""
        return [
            Path(r[2]) for r in self._kept_reports() if r[:2] == [project, wheel] and Path(r[2]).is_file()
        ]

    def remember_report(self, project: str, wheel: str, pdf: Path) -> None:
        """Keep that a report was stored; of one file only the newest word counts."""
        name = str(pdf.absolute())
        kept = [[project, wheel, name], *(r for r in self._kept_reports() if r[2] != name)]
        self._settings.setValue("reports", json.dumps(kept[:_MOST_REPORTS]))

    def _kept_reports(self) -> list[list[str]]:
        try:
            value = json.loads(str(self._settings.value("reports", "[]")))
        except ValueError:
            return []
        rows = value if isinstance(value, list) else []
        return [r for r in rows if isinstance(r, list) and len(r) == 3 and all(isinstance(x, str) for x in r)]

    @property
    def was_started(self) -> bool:
        """True from the second start on."""
        return bool(self._settings.value("started", False, type=bool))

    @was_started.setter
    def was_started(self, started: bool) -> None:
        self._settings.setValue("started", started)

    @property
    def first_steps_closed(self) -> bool:
        """True where the first steps were closed for good."""
        return bool(self._settings.value("first_steps_closed", False, type=bool))

    @first_steps_closed.setter
    def first_steps_closed(self, closed: bool) -> None:
        self._settings.setValue("first_steps_closed", closed)

    @property
    def first_steps(self) -> frozenset[str]:
        """Names of the first steps that were done."""
        return frozenset(filter(None, str(self._settings.value("first_steps", "")).split(" ")))

    @first_steps.setter
    def first_steps(self, names: frozenset[str]) -> None:
        self._settings.setValue("first_steps", " ".join(sorted(names)))

    @property
    def keys(self) -> dict[str, str]:
        """Keys that the user has chosen, by the name of their action."""
        try:
            value = json.loads(str(self._settings.value("keys", "{}")))
        except ValueError:
            return {}
        rows = value.items() if isinstance(value, dict) else ()
        return {name: key for name, key in rows if isinstance(name, str) and isinstance(key, str)}

    @keys.setter
    def keys(self, keys: dict[str, str]) -> None:
        self._settings.setValue("keys", json.dumps(keys))

    @property
    def dark(self) -> bool:
        """True where the dark theme was chosen last."""
        return bool(self._settings.value("dark", False, type=bool))

    @dark.setter
    def dark(self, dark: bool) -> None:
        self._settings.setValue("dark", dark)

    @property
    def language(self) -> str | None:
        """Code of the language that was chosen, None for that of the system."""
        chosen = str(self._settings.value("language", ""))
        return chosen if chosen in LANGUAGES else None

    @language.setter
    def language(self, code: str | None) -> None:
        self._settings.setValue("language", code or "")

    @property
    def computing(self) -> str:
        """Where independent pieces of work run: this process, all cores, or a cluster's address."""
        return str(self._settings.value("computing", SERIAL)) or SERIAL

    @computing.setter
    def computing(self, where: str) -> None:
        self._settings.setValue("computing", where)

    def geometry(self, name: str) -> QByteArray | None:
        """Return the bytes kept for a window or splitter, None if there are none."""
        value = self._settings.value(f"geometry/{name}")
        return value if isinstance(value, QByteArray) else None

    def keep_geometry(self, name: str, value: QByteArray) -> None:
        """Keep the bytes of a window or splitter."""
        self._settings.setValue(f"geometry/{name}", value)
