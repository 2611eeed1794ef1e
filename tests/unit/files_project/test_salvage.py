"""Damaged files recovered on request: as much as can be, with a list, and nothing clear unseen."""

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from app.cli.check import check
from app.cli.command_line import main
from app.files.migrations import FORMAT
from app.files.project_file import NewerFormat, ProjectFileError, dumps, load, loads
from app.files.salvage import salvage
from app.files.untrusted import GATE
from app.project.wheel import Wheel
from app.resources import sample
from geometry.readings.rules import State
from geometry.shape.outline import Known, Motion
from tests.damage.harm import SALVAGED, Tally, cut, flipped, misleading, read, recover
from tests.support.project_docs import golden
from tests.support.whole_projects import every_class

DATA = dumps(every_class())
OWN = sample("1-track-18-own-blank").read_bytes()


@pytest.mark.parametrize("step", [pytest.param(1, marks=pytest.mark.long), 997])
def test_every_cut_and_flipped_bit_is_refused_or_offered_and_recovered_without_harm(
    step: int,
) -> None:
    tally = Tally()
    for harm in (cut, flipped):
        for n, (what, data) in enumerate(harm(DATA, step)):
            read(what, data, tally)
            if n % 3 == 0:
                recover(what, data, every_class(), tally)
    assert tally.amiss == []
    assert tally.ends[SALVAGED] > 0.2 * tally.ends.total() / 4


def damaged(old: str, new: str, data: bytes = DATA) -> bytes:
    assert data.count(old.encode()) >= 1, old
    return data.replace(old.encode(), new.encode(), 1)


def test_a_file_cut_within_its_shapes_keeps_the_wheels_and_names_what_is_gone() -> None:
    at = DATA.index(b'"shapes": [')
    found = salvage(DATA[: at + 40])
    assert [w.name for w in found.project.wheels] == ["Track 18", "Track 18 frei ±½"]
    assert len(found.project.blanks) == 3
    text = "\n".join(found.lost)
    assert 'the outline of the shape "Caliper 380"; a stand-in has its name' in text
    assert "anything that stood in shapes, rule_sets, conditions, materials" in text
    stand_in, gate = found.project.shapes
    assert (stand_in.name, gate.name) == ("Caliper 380", GATE)
    assert found.project.wheels[0].clears == ("Caliper 380", GATE)
    assert found.project.wheels[0].rules is None
    # The outline itself is the one that was drawn, to the last digit.
    assert found.project.wheels[0].section == every_class().wheels[0].section
    assert found.project.notes["recovered"]


def test_a_wheel_is_kept_without_a_member_that_is_damaged_and_lost_with_a_row_of_its_outline() -> None:
    found = salvage(damaged('"why": "lighter', '"why": lighter'))
    assert found.project.wheels[0] == replace(every_class().wheels[0], why="", clears=("Caliper 380", GATE))
    assert 'of "Track 18" what stood in why' in found.lost
    found = salvage(damaged('{"z": 0.0, "r": 74.0', '{"z": 0.0, "r" 74.0'))
    assert [w.name for w in found.project.wheels] == ["Track 18 frei ±½"]
    assert any('a part called "Track 18", which is not whole' in line for line in found.lost)
    assert found.project.fitments[0].wheel is None


def test_a_shape_that_lost_how_it_moves_does_not_move_with_the_knuckle() -> None:
    found = salvage(damaged('"motion": "with the knuckle"', '"motion": "wish the knuckle"'))
    assert found.project.shapes[0].name == "Caliper 380"
    assert found.project.shapes[0].motion is Motion.NOT_SAID
    assert any("with" in line and "motion" in line for line in found.lost)


def test_answers_confirmations_and_evidence_are_open_again() -> None:
    found = salvage(damaged('"currency": ""', '"currency": \x01'))
    card = found.project.shapes[0].card
    assert card.unit.state is Known.OPEN
    assert card.unit.text == "mm"  # what was said is there to be confirmed
    assert len(found.project.shapes[0].open_questions()) >= 5
    assert found.project.blanks[0].tools is None
    assert all(record.drawing == "" for record in found.project.test_records)
    assert any("every answer on a source card is open again" in line for line in found.open)
    assert any("A18" in line for line in found.open)


def test_a_list_whose_head_is_damaged_is_known_by_what_it_holds() -> None:
    for field in ("wheels", "blanks", "shapes", "rule_sets", "materials", "fitments", "test_records"):
        found = salvage(damaged(f'\n "{field}": [', f'\n "{field[:-1]}! ['))
        assert len(getattr(found.project, field)) >= len(getattr(every_class(), field)), field
        assert list(misleading(found.project, every_class(), bool(found.lost))) == []


@pytest.mark.parametrize("sign", ["\x00", "\x0e", "s", "{", '"'])
@pytest.mark.parametrize("name", ["P-2", "S18", "Track 18 frei ±½"])
def test_a_part_whose_opening_is_damaged_is_kept_or_named(name: str, sign: str) -> None:
    start = DATA.index(f'  {{\n   "name": "{name}"'.encode())
    for place in range(start - 1, start + 4):
        data = DATA[:place] + sign.encode() + DATA[place + 1 :]
        if data == DATA:
            continue
        found = salvage(data)
        there = [p.name for of in ("wheels", "blanks", "test_records") for p in getattr(found.project, of)]
        assert name in there or any(name in line for line in found.lost), place


def test_a_metal_without_a_name_is_lost_by_a_name() -> None:
    """Found by the fuzzer."""
    found = salvage(damaged('"material": "6061-T6"', '"material": ""'))
    assert found.project.wheels[0].material == "Lost"
    assert loads(dumps(found.project)) == found.project


def test_a_setting_that_cannot_be_takes_its_starting_value() -> None:
    found = salvage(damaged('"display_unit": "mm"', '"display_unit": "em"'))
    assert found.project.display_unit == "mm"
    assert any(line.startswith('display_unit is "em"') for line in found.lost)
    assert loads(dumps(found.project)) == found.project


def test_two_lines_run_together_lose_no_more_than_their_parts() -> None:
    found = salvage(damaged("  },\n  {", "  },?  {"))
    assert [w.name for w in found.project.wheels] == ["Track 18", "Track 18 frei ±½"]


@pytest.mark.parametrize("written", range(1, FORMAT))
def test_a_damaged_file_of_an_older_format_is_recovered_too(written: int) -> None:
    data = golden(written).read_bytes()
    at = data.index(b'"fitments": [')
    found = salvage(data[:at] + b"\x00" + data[at:])
    whole = load(golden(written))
    assert [w.section for w in found.project.wheels] == [w.section for w in whole.wheels]
    assert list(misleading(found.project, whole, is_less=True)) == []


def test_what_cannot_be_recovered_is_said_in_one_line() -> None:
    newer = DATA.replace(b'"format": %d' % FORMAT, b'"format": 99')
    with pytest.raises(NewerFormat, match="reads format 99"):
        salvage(newer)
    with pytest.raises(ProjectFileError, match="Nothing is wrong with the file"):
        salvage(DATA)
    for data in (b"", b"\x00" * 5000, b"[" * 5000, DATA[:300], b'{"format": 1, "name": "x"}'):
        with pytest.raises(ProjectFileError, match="No part of the project can be read"):
            salvage(data)


def states(data: bytes) -> list[str]:
    project = salvage(data).project
    wheels: tuple[Wheel, ...] = project.wheels
    return [entry["state"] for entry in check(project, wheels)["wheels"]]


@pytest.mark.parametrize(
    "harm",
    [
        lambda d: damaged('"currency": "', '"currency": ', d),  # nothing that judges a wheel
        lambda d: damaged('\n "rule_sets": [', '\n "rule_zets": [', d),
        lambda d: d[: d.index(b'"rule_sets": [')],  # rules, conditions and metal gone
        lambda d: d[: d.index(b'"shapes": [')],
        lambda d: damaged('"motion": "', '"motion": x"', d),
        lambda d: damaged('"clears": [', '"clears": {', d),
        lambda d: damaged('"included_gap_mm": ', '"included_gap_mm": x', d),
        lambda d: damaged('"confirmed_by": "', '"confirmed_by": \x00"', d),
    ],
)
def test_a_clear_wheel_is_not_known_once_its_file_was_damaged(harm: Callable[[bytes], bytes]) -> None:
    whole = loads(OWN)
    assert check(whole, whole.wheels)["state"] in (State.CLEAR, State.TIGHT)
    found = states(harm(OWN))
    assert found
    assert set(found) <= {str(State.NOT_KNOWN), str(State.SHORT), str(State.TOUCHING)}


def test_the_command_recovers_into_a_file_of_its_own(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path, out = tmp_path / "broken.blankwright", tmp_path / "out.blankwright"
    path.write_bytes(OWN[: OWN.index(b'"shapes": [')])
    assert main(["check", str(path)]) == 2
    refused = capsys.readouterr().err
    assert "no whole project file" in refused
    assert "1 in wheels" in refused  # what can be had, and how
    assert "check PROJECT --recover NEW.blankwright" in refused
    assert main(["check", str(path), "--recover", str(out), "--json"]) == 1
    said = capsys.readouterr()
    assert json.loads(said.out)["state"] == "not known"
    lines = said.err.splitlines()
    assert lines[0] == f"blankwright: recovered to {out}; nothing of it is confirmed"
    assert any(line.startswith("blankwright: lost: ") for line in lines)
    assert any(line.startswith("blankwright: recovered: 1 in wheels") for line in lines)
    assert load(out).wheels[0].section == loads(OWN).wheels[0].section
    assert path.read_bytes() == OWN[: OWN.index(b'"shapes": [')]
    assert main(["check", str(path), "--recover", str(out)]) == 2  # never over a file
    assert "there is a file already" in capsys.readouterr().err
