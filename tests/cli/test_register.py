"""`jigbook register`: the register as a signed zip."""

import subprocess
import zipfile
from pathlib import Path

import pytest

from app.cli import main
from app.signing.authority import FOLDER, change_password
from app.wording.how_to_check import of_register
from tests.cli.test_key import data

__all__ = ["data"]

OWN = "a key kept by the owner"


def register(target: Path, data: Path, *words: str) -> int:
    return main(["register", str(target), "--data", str(data), *words])


def test_it_writes_a_zip_that_openssl_takes_as_it_says(
    data: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    target = tmp_path / "out.zip"
    assert register(target, data) == 0
    said = capsys.readouterr().out
    with zipfile.ZipFile(target) as opened:
        opened.extractall(tmp_path / "unpacked")
    (command,) = of_register("0" * 64)[0].commands
    assert command in said
    done = subprocess.run(
        command.split(), cwd=tmp_path / "unpacked", capture_output=True, text=True, check=True
    )
    assert "Verification successful" in done.stdout + done.stderr
    assert said.splitlines()[-1] == str(target)
    assert [path.name for path in tmp_path.iterdir() if "new" in path.name] == []


def test_a_password_of_the_owner_is_asked_for(
    data: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    change_password(data / FOLDER, None, OWN)
    wrong, right = tmp_path / "wrong", tmp_path / "right"
    wrong.write_text("another\n")
    right.write_text(f"{OWN}\n")
    assert register(tmp_path / "out.zip", data, "--password-file", str(wrong)) == 2
    assert "password" in capsys.readouterr().err
    assert not (tmp_path / "out.zip").exists()
    assert register(tmp_path / "out.zip", data, "--password-file", str(right)) == 0
    assert zipfile.is_zipfile(tmp_path / "out.zip")
