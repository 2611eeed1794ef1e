"""Constants of the published wheel tests, each with its source and how far it is confirmed.

What was not read in the standard itself is a setting of the user's.
"""

from __future__ import annotations

import math
from dataclasses import replace

from geometry.errors import GeometryError
from geometry.shape.published import Number, Status

_STVZO = "German guideline for special wheels, as test laboratories quote it, M1"
_R124 = "UN R124, annex not read"
_J328 = "SAE J328-2021, summary"
_JWL = "articles on the Japanese standard"

#: Constants by test and symbol; a user's own value replaces one and says so.
CONSTANTS: dict[str, dict[str, Number]] = {
    "R124 bending": {
        "S": Number(2.0, _R124, Status.MEMORY),
        "mu": Number(0.9, _R124, Status.MEMORY),
    },
    "JWL bending": {
        "Sm": Number(1.5, _JWL, Status.MEMORY),
        "mu": Number(0.7, _JWL, Status.MEMORY),
    },
    "J328 bending front": {
        "S": Number(2.0, f"{_J328}, aluminium cast and forged, front", Status.SECONDARY),
        "mu": Number(0.7, _J328, Status.SECONDARY),
    },
    "J328 bending rear": {
        "S": Number(1.75, f"{_J328}, aluminium cast and forged, rear", Status.SECONDARY),
        "mu": Number(0.7, _J328, Status.SECONDARY),
    },
    "R124 rolling": {
        "S": Number(2.5, _STVZO, Status.SECONDARY),
        "theta0": Number(40.0, "half of the contact arc, degrees", Status.ASSUMPTION),
        "p": Number(0.45, "inflation in the rolling test, MPa", Status.MEMORY),
    },
    "JWL rolling": {
        "S": Number(2.25, _JWL, Status.MEMORY),
        "theta0": Number(40.0, "half of the contact arc, degrees", Status.ASSUMPTION),
        "p": Number(0.45, "inflation in the rolling test, MPa", Status.MEMORY),
    },
    "inflation": {
        "p": Number(0.45, "inflation pressure, MPa", Status.ASSUMPTION),
        "bead": Number(0.0, "radial load of a bead on its seat if above 0, N/mm", Status.ASSUMPTION),
    },
    "cornering": {
        "S": Number(2.0, f"{_J328}, aluminium cast and forged, front", Status.SECONDARY),
        "mu": Number(0.7, _J328, Status.SECONDARY),
        "theta0": Number(40.0, "half of the contact arc, degrees", Status.ASSUMPTION),
    },
    "braking torque": {
        "mu": Number(1.0, "grip of the tyre on a dry road", Status.ASSUMPTION),
        "transfer": Number(1.3, "load of a braked front wheel over its static load", Status.ASSUMPTION),
    },
    "13 degree impact": {
        "mass factor": Number(0.6, "SAE J175-2023, ISO 7141: D = 0.6 W + 180 kg, summary", Status.SECONDARY),
        "mass offset": Number(180.0, "the same, kg", Status.SECONDARY),
        "drop": Number(230.0, "the same, mm of free fall", Status.SECONDARY),
    },
    "radial impact": {
        "striker": Number(175.0, "SAE J3203-2023, summary: 175 kg, 2 %", Status.SECONDARY),
        "drop": Number(400.0, "SAE J3203-2023, summary: 400 to 1400 mm; the least taken", Status.SECONDARY),
    },
}


def constants_of(test: str, own: dict[str, float] | None = None) -> dict[str, Number]:
    """Return the constants of a test with the user's own values in place of some.

    Raises:
        GeometryError: a name is none of that test's, or a value is not a number above zero (pressure and bead
            load may be zero).
    """
    if test not in CONSTANTS:
        raise GeometryError(f"'{test}' is no test here; there are {', '.join(CONSTANTS)}.")
    given = dict(CONSTANTS[test])
    for name, value in (own or {}).items():
        if name not in given:
            raise GeometryError(f"'{name}' is no constant of {test}; it has {', '.join(given)}.")
        if not math.isfinite(value) or value < 0.0 or (value == 0.0 and name not in {"p", "bead"}):
            raise GeometryError(f"{test}: {name} {value:g} is not a number above zero.")
        given[name] = replace(given[name], value=value, source="the user's own", status=Status.ASSUMPTION)
    return given
