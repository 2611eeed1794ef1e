"""Size codes as people type them."""

from __future__ import annotations

import re

from app.project.wheel import SizeCode
from app.units import UnitsError, parse_number

_FORM = re.compile(r"\s*(?P<diameter>[^xX×]+)[xX×](?P<width>[^A-Za-z]+)(?P<flange>[A-Za-z]*)\s*")


def parse_size(text: str) -> SizeCode:
    """Return the size code of a text such as '18 x 10 J', '17x8,5J' or '18 x 9 1/2'; J without a letter.

    Raises:
        UnitsError: it is not of that form.
    """
    form = _FORM.fullmatch(text)
    if form is None:
        raise UnitsError("not a size code; write diameter x width and flange, as in 18 x 10 J", text, 0)
    diameter, width = parse_number(form["diameter"].strip()), parse_number(form["width"].strip())
    return SizeCode(diameter, width, form["flange"].upper() or "J")
