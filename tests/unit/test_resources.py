"""Icons, samples and fonts are found in a checkout and in the built wheel."""

import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from app import resources

CHECKOUT = Path(__file__).parents[2]


def test_in_a_checkout() -> None:
    assert resources.icon("blankwright") == CHECKOUT / "icons" / "blankwright.svg"
    assert resources.samples() == sorted((CHECKOUT / "sample_projects").glob("*.blankwright"))
    for path in resources.samples():
        assert resources.sample(path.stem) == path
    assert resources.font("DejaVuSans") == CHECKOUT / "app" / "_fonts" / "DejaVuSans.ttf"


def test_a_missing_one_is_named() -> None:
    with pytest.raises(FileNotFoundError, match=r"nothing\.svg is missing from"):
        resources.icon("nothing")
    with pytest.raises(FileNotFoundError, match=r"nothing\.blankwright is missing from"):
        resources.sample("nothing")
    with pytest.raises(FileNotFoundError, match=r"nothing\.ttf is missing from"):
        resources.font("nothing")


def test_in_the_built_wheel(tmp_path: Path) -> None:
    pytest.importorskip("hatchling", reason="the build back-end is missing")
    build = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(tmp_path)]
    subprocess.run(build, cwd=CHECKOUT, check=True, capture_output=True)
    (wheel,) = tmp_path.glob("*.whl")
    place = tmp_path / "installed"
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(place)
        assert {name.split("/")[0] for name in archive.namelist()} == {
            "app",
            "geometry",
            "blankwright-0.1.0.dist-info",
        }
    code = "from app import resources as r; print(r.icon('blankwright')); print(*r.samples(), sep='\\n')"
    run = subprocess.run(
        [sys.executable, "-c", code], cwd=place, check=True, capture_output=True, text=True, timeout=60
    )
    found = [Path(line) for line in run.stdout.split("\n") if line]
    assert found[0] == place / "app" / "_data" / "icons" / "blankwright.svg"
    assert [path.name for path in found[1:]] == [path.name for path in resources.samples()]
    for name in ("DejaVuSans.ttf", "DejaVuSans-Bold.ttf", "LICENSE-DejaVu.txt"):
        assert (place / "app" / "_fonts" / name).read_bytes() == (
            CHECKOUT / "app" / "_fonts" / name
        ).read_bytes()
    for path in found[1:]:
        assert path.read_bytes() == resources.sample(path.stem).read_bytes()
