"""The loads of the samples' wheels, worked out apart from the program with the invented wheels' own data."""

from __future__ import annotations

import pytest

from app import resources
from app.files.project_file import load
from app.studies.strength.cases import cases_of
from app.studies.strength.inputs import ready

#: Sample, wheel; R124 moment in N m, rolling load in N, striker in kg, its energy in J. R124 form with its
#: constants from memory; rolling after the German guideline; striker after SAE J175 (summary).
STATED = (
    ("1-track-18-own-blank", "Track 18", 4315.6, 16922.0, 594.0, 1340.0),
    ("2-track-18-bought-blank", "Track 18", 4315.6, 16922.0, 594.0, 1340.0),
    ("3-gt-19-touching", "GT 19", 5270.5, 19620.0, 660.0, 1489.0),
    ("4-roadmap-36-fitments", "Track 18", 4315.6, 16922.0, 594.0, 1340.0),
    ("4-roadmap-36-fitments", "GT 19", 5270.5, 19620.0, 660.0, 1489.0),
)


@pytest.mark.parametrize(("sample", "name", "moment", "rolling", "striker", "energy"), STATED)
def test_loads_are_as_stated(
    sample: str, name: str, moment: float, rolling: float, striker: float, energy: float
) -> None:
    project = load(resources.sample(sample))
    wheel = next(w for w in project.wheels if w.name == name)
    found = {case.key: case for case in cases_of(ready(project, wheel), project.strength)}
    assert found["R124 bending"].moment_nm == pytest.approx(moment, abs=0.05)
    assert found["R124 rolling"].force_n == pytest.approx(rolling, abs=0.5)
    assert found["13 degree impact"].striker_kg == pytest.approx(striker)
    assert found["13 degree impact"].energy_j == pytest.approx(energy, abs=0.5)
