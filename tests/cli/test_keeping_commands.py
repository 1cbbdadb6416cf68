"""The commands about people, tokens, the event log and backups, as somebody types them."""

import sqlite3
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import pytest

from app.cli import main
from app.records.session import Database
from app.services import audit_check
from app.services.joining import first_start
from app.services.sign_in import sign_in
from app.services.tokens import identify
from app.settings import sqlite_url
from app.wording import events
from tests.databases import CHEAP, migrate


@dataclass
class Shop:
    data: Path
    capsys: pytest.CaptureFixture[str]

    def __call__(self, *words: str) -> tuple[int, list[str], str]:
        """Exit code, lines of standard output, standard error."""
        code = main([*words, "--data", str(self.data)])
        out, err = self.capsys.readouterr()
        return code, out.splitlines(), err

    @property
    def database(self) -> Database:
        return Database(sqlite_url(self.data))


@pytest.fixture
def shop(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Shop:
    made = Shop(tmp_path / "data", capsys)
    made.data.mkdir()
    migrate(made.data / "jigbook.sqlite3")
    database = made.database
    first_start(database, datetime.now(UTC), passwords=CHEAP)
    database.close()
    return made


def test_an_added_person_can_sign_in_with_what_is_printed_last(shop: Shop) -> None:
    code, out, err = shop(
        "user", "add", "åsa", "--name", "Åsa Berg", "--role", "desk", "--role", "technician"
    )
    assert (code, err) == (0, "")
    database = shop.database
    actor = sign_in(database, "asa", out[-1], "", datetime.now(UTC))
    database.close()
    assert (actor.name, sorted(actor.roles)) == ("Åsa Berg", ["desk", "technician"])
    code, listed, _ = shop("user", "list")
    assert code == 0
    assert listed == [
        "åsa    Åsa Berg  desk, technician; one-time password not changed yet",
        "owner  owner  desk, inspector, owner, technician; one-time password not changed yet",
    ]


def test_a_reset_person_gets_a_new_password(shop: Shop) -> None:
    code, out, _ = shop("user", "reset", "Owner")
    assert code == 0
    database = shop.database
    assert sign_in(database, "owner", out[-1], "", datetime.now(UTC)).must_change_password
    database.close()


def test_a_created_token_is_printed_last_and_works_until_it_is_revoked(shop: Shop) -> None:
    code, out, _ = shop("token", "create", "--name", "arm 2", "--role", "technician")
    assert code == 0
    database = shop.database
    with database.read() as session:
        holder = identify(session, out[-1], datetime.now(UTC))
        assert sorted(holder.actor.roles) == ["technician"]
    database.close()
    assert shop("token", "revoke", "arm 2") == (0, ["token arm 2 is revoked"], "")
    code, listed, _ = shop("token", "list")
    assert (code, len(listed)) == (0, 1)
    assert listed[0].startswith(out[-1][:14])
    assert listed[0].endswith("technician  arm 2  revoked")


def test_a_whole_log_and_a_broken_one_are_told_apart(shop: Shop) -> None:
    code, out, _ = shop("audit", "verify")
    assert (code, out[-1]) == (0, "the log is whole")
    with closing(sqlite3.connect(shop.data / "jigbook.sqlite3")) as database:
        head = database.execute("SELECT hash FROM event_head").fetchone()[0]
        assert f"newest hash {head}" in out
        database.execute("UPDATE event SET what = 'person.left' WHERE position = 1")
        database.commit()
    code, out, _ = shop("audit", "verify")
    assert (code, out[0], out[-1]) == (2, "event 1 is not as it was written", "the log is broken")


def test_every_fault_of_the_log_has_a_sentence() -> None:
    assert set(events.FAULTS) == set(audit_check.FAULTS)
    told = {events.fault(code, 7, "name") for code in audit_check.FAULTS}
    assert len(told) == len(audit_check.FAULTS)
    assert all("7" in sentence for sentence in told)


def test_a_backup_is_made_and_brought_back(shop: Shop, tmp_path: Path) -> None:
    code, _, err = shop("backup", str(tmp_path / "b.zip"))
    assert (code, (tmp_path / "b.zip").exists()) == (2, False)
    assert "ends in .tar" in err
    code, out, _ = shop("backup", str(tmp_path / "b.tar"))
    assert (code, out[-1]) == (0, str(tmp_path / "b.tar"))
    code, _, err = shop("restore", str(tmp_path / "b.tar"))
    assert code == 2
    assert "--overwrite" in err
    code, out, _ = shop("restore", str(tmp_path / "b.tar"), "--overwrite")
    assert code == 0
    assert "replaced-" in out[-1]
    new = Shop(tmp_path / "new", shop.capsys)
    assert new("restore", str(tmp_path / "b.tar"))[0] == 0
    assert new("audit", "verify")[0] == 0


REFUSED = {
    "nobody of that name": (["user", "reset", "nobody"], "no such person"),
    "a name that is taken": (["user", "add", "OWNER", "--role", "desk"], "sign-in name already"),
    "an unknown role": (["user", "add", "kim", "--role", "boss"], "invalid choice: 'boss'"),
    "nothing to do": (["user"], "add|list|reset"),
    "a token over at once": (
        ["token", "create", "--name", "arm", "--role", "desk", "--days", "-5"],
        "at least 1 is needed",
    ),
    "a token beyond the calendar": (
        ["token", "create", "--name", "arm", "--role", "desk", "--days", "9999999"],
        "at most 3650 is taken",
    ),
    "no such token": (["token", "revoke", "arm"], "no such token"),
    "no backup": (["restore", "missing.tar", "--overwrite"], "there is no file missing.tar"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_a_command_that_cannot_be_done_says_why(shop: Shop, case: str) -> None:
    words, expected = REFUSED[case]
    code, out, err = shop(*words)
    assert (code, out) == (2, [])
    assert expected in err
    assert "Traceback" not in err


@pytest.mark.parametrize(
    "words", [["user", "list"], ["token", "list"], ["audit", "verify"], ["backup", "b.tar"]]
)
def test_a_folder_without_records_is_told_and_left_empty(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], words: list[str]
) -> None:
    empty = Shop(tmp_path / "empty", capsys)
    code, out, err = empty(*words)
    assert (code, out) == (2, [])
    assert "needed" in err
    assert not list(tmp_path.iterdir())


def test_records_without_a_first_start_are_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shop = Shop(tmp_path, capsys)
    migrate(tmp_path / "jigbook.sqlite3")
    code, _, err = shop("user", "add", "kim", "--role", "desk")
    assert code == 2
    assert "jigbook serve" in err
