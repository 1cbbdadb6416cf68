"""`jigbook demo`: filled once, told again, started anew, never in a shop's own folder."""

import re
from datetime import datetime
from pathlib import Path

import pytest

from app.cli import main
from app.demonstration import folder
from app.demonstration.shop import Access, Demonstration
from app.errors import Unavailable
from app.records.session import Database
from app.services.passwords import one_time_password

FILLED: list[Path] = []


def quick_fill(database: Database, data_dir: Path, now: datetime, tell: object) -> Demonstration:
    """Stands for the filling, which has tests of its own."""
    FILLED.append(data_dir)
    assert now.tzinfo is not None
    people = (Access("Olof Invented", "owner", "owner", one_time_password()),)
    return Demonstration(people, 10, "J-2026-0003", "claim-token", None)


@pytest.fixture
def filling(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> list[Path]:
    FILLED.clear()
    monkeypatch.setattr("app.cli.demo.fill", quick_fill)
    monkeypatch.setattr("app.cli.demo.default_folder", lambda: tmp_path / "own")
    for name in ("JIGBOOK_DATA", "JIGBOOK_DATABASE_URL", "JIGBOOK_PUBLIC_URL"):
        monkeypatch.delenv(name, raising=False)
    return FILLED


def demo(*words: str) -> int:
    return main(["demo", "--no-serve", *words])


def passwords_in(text: str) -> list[str]:
    return re.findall(r"\b\w{4}(?:-\w{4}){3}\b", text)


def test_it_is_filled_once_and_told_at_every_start(
    filling: list[Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert demo() == 0
    first = capsys.readouterr().out
    assert demo() == 0
    second = capsys.readouterr().out

    assert filling == [tmp_path / "own"]
    assert first == second
    assert len(passwords_in(first)) == 1
    assert "/claim/claim-token" in first
    assert "invented" in first


def test_fresh_starts_again(filling: list[Path], capsys: pytest.CaptureFixture[str]) -> None:
    demo()
    first = capsys.readouterr().out
    assert demo("--fresh") == 0

    assert len(filling) == 2
    assert passwords_in(first) != passwords_in(capsys.readouterr().out)


def test_a_filling_that_was_cut_off_is_begun_anew(
    filling: list[Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def cut_off(*args: object) -> Demonstration:
        raise KeyboardInterrupt

    with monkeypatch.context() as broken:
        broken.setattr("app.cli.demo.fill", cut_off)
        assert demo() == 130
    assert folder.kept(tmp_path / "own") is None

    assert demo() == 0
    assert folder.kept(tmp_path / "own") is not None


def test_without_its_database_it_is_made_again(filling: list[Path], tmp_path: Path) -> None:
    demo()
    (tmp_path / "own" / "jigbook.sqlite3").unlink()

    assert demo() == 0
    assert len(filling) == 2


def test_what_the_environment_says_of_the_shop_does_not_lead_here(
    filling: list[Path], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shop = tmp_path / "shop"
    shop.mkdir()
    monkeypatch.setenv("JIGBOOK_DATA", str(shop))
    monkeypatch.setenv("JIGBOOK_DATABASE_URL", f"sqlite:///{shop / 'real.sqlite3'}")

    assert demo() == 0

    assert list(shop.iterdir()) == []
    assert (tmp_path / "own" / "jigbook.sqlite3").is_file()


def test_a_folder_with_a_real_shop_is_refused(
    filling: list[Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shop = tmp_path / "shop"
    assert main(["migrate", "--data", str(shop)]) == 0
    before = (shop / "jigbook.sqlite3").read_bytes()

    for words in ((), ("--fresh",)):
        assert demo("--data", str(shop), *words) == 2

    assert filling == []
    assert (shop / "jigbook.sqlite3").read_bytes() == before
    assert "something else than a demonstration" in capsys.readouterr().err


def test_another_folder_may_be_chosen(filling: list[Path], tmp_path: Path) -> None:
    assert demo("--data", str(tmp_path / "chosen")) == 0
    assert filling == [tmp_path / "chosen"]


def test_it_is_not_made_anew_under_the_feet_of_one_that_serves(
    filling: list[Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    demo()
    with folder.locked(tmp_path / "own") as serving:
        serving.share()
        assert demo("--fresh") == 2
        assert "another jigbook demo" in capsys.readouterr().err
        assert demo() == 0

    assert len(filling) == 1


def test_it_says_what_is_missing_without_pango(
    filling: list[Path], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def without(*args: object) -> Demonstration:
        return Demonstration((), 10, None, None, Unavailable("pdf_needs_pango"))

    monkeypatch.setattr("app.cli.demo.fill", without)
    assert demo() == 0

    said = capsys.readouterr().out
    assert "Pango" in said
    assert "--fresh" in said
