"""Every command explains itself."""

from __future__ import annotations

import pytest

from app.cli.command_line import main
from app.entry import COMMANDS


@pytest.mark.parametrize("command", [*sorted(COMMANDS), ""])
def test_help_is_printed(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main([command, "--help"] if command else ["--help"])
    assert ended.value.code == 0
    assert "usage: blankwright" in capsys.readouterr().out
