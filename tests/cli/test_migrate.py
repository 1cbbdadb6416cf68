"""`jigbook migrate` makes the records and leaves them as they are when they are current."""

import stat
from pathlib import Path

import pytest

from app.cli import main


def test_records_are_made_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    data = tmp_path / "data"
    assert main(["migrate", "--data", str(data)]) == 0
    assert "made new" in capsys.readouterr().out
    database = data / "jigbook.sqlite3"
    assert stat.S_IMODE(database.stat().st_mode) == 0o600
    before = database.read_bytes()
    assert main(["migrate", "--data", str(data)]) == 0
    assert "already" in capsys.readouterr().out
    assert database.read_bytes() == before
    assert [path.name for path in data.iterdir()] == ["jigbook.sqlite3"]
