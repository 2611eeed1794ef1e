"""A text that cannot be read, told with the option that it was given for."""

from __future__ import annotations

import argparse
import re

from app.units import UnitsError


def refused_words(args: argparse.Namespace, error: Exception) -> str:
    """Return an error's words, led by the option where one option alone was given that text."""
    if not isinstance(error, UnitsError):
        return str(error)
    options = [name for name, value in vars(args).items() if error.text in _texts(value)]
    return f"--{options[0].replace('_', '-')}: {error}" if len(options) == 1 else str(error)


def _texts(value: object) -> list[str]:
    """Return what was typed for an option, whole and in its parts ('100,nan', 'ring=5')."""
    if isinstance(value, list):
        return [text for each in value for text in _texts(each)]
    return [value, *re.split("[,:=]", value)] if isinstance(value, str) else []
