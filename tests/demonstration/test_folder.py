"""The demonstration's folder: its own, marked, never another's."""

from pathlib import Path

import pytest

from app.demonstration import folder
from app.demonstration.shop import Access, Demonstration
from app.errors import Conflict, Unavailable
from app.settings import default_data_dir

MADE = Demonstration(
    people=(Access("Olof Invented", "owner", "owner", "abcd-efgh"),),
    jobs=10,
    claim_job="J-2026-0003",
    claim_token="token",
    no_certificates=None,
)


def test_it_is_never_the_shops_own_folder() -> None:
    assert folder.default_folder() != default_data_dir()
    assert default_data_dir() not in folder.default_folder().parents


def test_a_folder_that_holds_something_else_is_refused_and_left_alone(tmp_path: Path) -> None:
    record = tmp_path / "jigbook.sqlite3"
    record.write_text("a real shop")

    for refused in (folder.refuse_foreign, folder.begin):
        with pytest.raises(Conflict, match="not_a_demonstration_folder"):
            refused(tmp_path)

    assert record.read_text() == "a real shop"
    assert folder.kept(tmp_path) is None


def test_an_empty_or_missing_folder_is_taken(tmp_path: Path) -> None:
    folder.refuse_foreign(tmp_path / "missing")
    folder.refuse_foreign(tmp_path)
    folder.begin(tmp_path)
    folder.refuse_foreign(tmp_path)


def test_what_is_to_be_told_is_kept_for_the_owner_alone(tmp_path: Path) -> None:
    folder.begin(tmp_path)
    assert folder.kept(tmp_path) is None

    told = folder.finish(tmp_path, MADE)

    assert folder.kept(tmp_path) == told
    assert (told.people, told.claim_token, told.with_certificates) == (MADE.people, "token", True)
    assert (tmp_path / folder.MARK).stat().st_mode & 0o777 == 0o600


def test_it_remembers_that_there_are_no_certificates(tmp_path: Path) -> None:
    without = Demonstration(MADE.people, 10, None, None, Unavailable("pdf_needs_pango"))

    assert folder.finish(tmp_path, without).with_certificates is False


def test_beginning_again_empties_the_folder(tmp_path: Path) -> None:
    folder.begin(tmp_path)
    folder.finish(tmp_path, MADE)
    (tmp_path / "jigbook.sqlite3").write_text("old")
    (tmp_path / "signing").mkdir()
    (tmp_path / "signing" / "key").write_text("old")

    folder.begin(tmp_path)

    assert [entry.name for entry in tmp_path.iterdir()] == [folder.MARK]
    assert folder.kept(tmp_path) is None


@pytest.mark.parametrize("text", ["", "{", "[]", '{"state": "filling"}'])
def test_a_mark_that_says_nothing_is_a_filling_that_was_cut_off(tmp_path: Path, text: str) -> None:
    (tmp_path / folder.MARK).write_text(text)

    assert folder.kept(tmp_path) is None
    folder.refuse_foreign(tmp_path)


def test_one_fills_while_nobody_serves(tmp_path: Path) -> None:
    with folder.locked(tmp_path) as first, folder.locked(tmp_path) as second:
        assert first.alone()
        assert not second.alone()
        first.share()
        second.share()
        assert not first.alone()
    with folder.locked(tmp_path) as third:
        assert third.alone()
