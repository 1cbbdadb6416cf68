"""Backup and back: one file, taken while others write, and nothing overwritten by accident."""

import io
import json
import shutil
import stat
import tarfile
import threading
from pathlib import Path

import pytest

from app.errors import Conflict, JigbookError, NotFound, Unavailable
from app.records.migrating import newest_revision
from app.records.scope import scoped
from app.records.session import Database
from app.records.tables import Customer
from app.services.audit import record
from app.services.audit_check import verify
from app.services.backup import backup, restore
from app.services.permissions import Actor, Role
from app.settings import Settings, sqlite_url
from app.signing.authority import FOLDER, found_authority
from app.signing.keys import open_key
from app.signing.renewal import renew_authority
from tests.databases import NOW, actor_with, migrate, new_shop


def settings_of(folder: Path) -> Settings:
    folder.mkdir(mode=0o700, exist_ok=True)
    return Settings(data_dir=folder, database_url=sqlite_url(folder))


@pytest.fixture
def shop(tmp_path: Path) -> Settings:
    """A data folder with a database, a key, a photo, and what no backup needs."""
    settings = settings_of(tmp_path / "shop")
    migrate(settings.data_dir / "jigbook.sqlite3")
    database = Database(settings.database_url)
    add(database, actor_with(new_shop(database), Role.OWNER), "Kim")
    database.close()
    for name, words in {
        "signing/authority.pem": "a key", "signing/password": "its password",
        "photos/ab/1.jpg": "a photo", "backups/old.tar": "older", ".set-up.lock": "",
        "jigbook.sqlite3.0001-before-0002": "a copy before an upgrade",
    }.items():  # fmt: skip
        file = settings.data_dir / name
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(words)
    return settings


def add(database: Database, actor: Actor, name: str) -> None:
    with database.write() as session:
        session.add(Customer(shop_id=actor.shop_id, name=name, created_at=NOW))
        record(session, actor, "customer.added", f"customer:{name}", NOW, {}, {"name": name})


def names(settings: Settings) -> list[str]:
    database = Database(settings.database_url)
    with database.read() as session:
        found = [row.name for row in session.scalars(scoped(session, 1, Customer))]
        assert verify(session, 1).whole
    database.close()
    return found


def files(folder: Path) -> dict[str, str]:
    """Every file beside the database, with its text."""
    return {
        path.relative_to(folder).as_posix(): path.read_text()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and not path.name.startswith("jigbook.sqlite3")
    }


KEPT = {
    "photos/ab/1.jpg": "a photo", "signing/authority.pem": "a key",
    "signing/password": "its password",
}  # fmt: skip


def test_what_was_backed_up_comes_back_in_another_folder(shop: Settings, tmp_path: Path) -> None:
    report = backup(shop, tmp_path, NOW)
    assert report.file == tmp_path / "jigbook-20260302T090000Z.tar"
    assert (report.files, report.revision, report.made_at) == (4, newest_revision(), NOW)
    there = settings_of(tmp_path / "there")
    restored = restore(there, report.file)
    assert names(there) == ["Kim"]
    assert files(there.data_dir) == KEPT
    assert (restored.files, restored.made_at, restored.set_aside) == (4, NOW, None)


def test_a_backup_is_its_owners_alone_and_leaves_nothing_else(
    shop: Settings, tmp_path: Path
) -> None:
    folder = tmp_path / "out"
    folder.mkdir()
    file = backup(shop, folder / "b.tar", NOW).file
    assert stat.S_IMODE(file.stat().st_mode) == 0o600
    assert list(folder.iterdir()) == [file]
    there = settings_of(tmp_path / "there")
    restore(there, file)
    modes = [path.stat().st_mode for path in there.data_dir.rglob("*") if path.is_file()]
    assert {stat.S_IMODE(mode) for mode in modes} == {0o600}


def test_a_backup_taken_while_others_write_is_one_state(shop: Settings, tmp_path: Path) -> None:
    database = Database(shop.database_url)
    actor, stop = actor_with(1, Role.OWNER), threading.Event()
    written: list[int] = []

    def write() -> None:
        while not stop.is_set():
            add(database, actor, f"customer {len(written)}")
            written.append(len(written))

    writer = threading.Thread(target=write)
    writer.start()
    try:
        reports = [backup(shop, tmp_path / f"{turn}.tar", NOW) for turn in range(3)]
    finally:
        stop.set()
        writer.join()
        database.close()
    assert len(names(shop)) == 1 + len(written)
    counts = []
    for turn, report in enumerate(reports):
        there = settings_of(tmp_path / f"there {turn}")
        restore(there, report.file)
        found = names(there)
        assert found == ["Kim", *(f"customer {n}" for n in range(len(found) - 1))]
        counts.append(len(found))
    assert counts == sorted(counts)
    assert counts[-1] > 1


def test_keys_that_are_renewed_meanwhile_are_backed_up_as_before_or_after(
    shop: Settings, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The owner renews them once the first of their files was copied."""
    keys = shop.data_dir / FOLDER
    shutil.rmtree(keys)
    found_authority(shop.data_dir, "Shop", NOW)
    renewal = threading.Thread(target=renew_authority, args=(keys, "Shop", None, NOW))
    copytree = shutil.copytree

    def copy(source: str, target: str) -> str:
        made: str = shutil.copy2(source, target)
        if not renewal.ident:
            renewal.start()
            renewal.join(0.3)
        return made

    monkeypatch.setattr(
        "app.services.backup.shutil.copytree",
        lambda source, target: copytree(source, target, copy_function=copy),
    )
    report = backup(shop, tmp_path, NOW)
    renewal.join(30)
    other = settings_of(tmp_path / "other")
    restore(other, report.file)
    assert open_key(other.data_dir / FOLDER, None, NOW).fingerprint
    assert open_key(keys, None, NOW).fingerprint


def test_a_file_that_stands_there_is_not_overwritten(shop: Settings, tmp_path: Path) -> None:
    (tmp_path / "b.tar").write_text("something else")
    with pytest.raises(Conflict, match="file_exists"):
        backup(shop, tmp_path / "b.tar", NOW)
    assert (tmp_path / "b.tar").read_text() == "something else"


@pytest.mark.parametrize("target", ["missing/b.tar", "shop/signing/password/b.tar"])
def test_a_place_that_cannot_be_written_is_told(
    shop: Settings, tmp_path: Path, target: str
) -> None:
    with pytest.raises(Unavailable, match="cannot_write"):
        backup(shop, tmp_path / target, NOW)


def test_a_folder_without_records_and_a_server_are_told(tmp_path: Path) -> None:
    with pytest.raises(NotFound, match="no_database"):
        backup(settings_of(tmp_path / "empty"), tmp_path, NOW)
    server = Settings(data_dir=tmp_path, database_url="postgresql://shop@localhost/jigbook")
    with pytest.raises(Unavailable, match="backup_needs_sqlite"):
        backup(server, tmp_path, NOW)


def test_restoring_over_records_needs_a_word_and_keeps_the_old_ones(
    shop: Settings, tmp_path: Path
) -> None:
    file = backup(shop, tmp_path, NOW).file
    database = Database(shop.database_url)
    add(database, actor_with(1, Role.OWNER), "Later")
    database.close()
    (shop.data_dir / "signing" / "password").write_text("another")
    with pytest.raises(Conflict, match="data_dir_in_use"):
        restore(shop, file)
    assert names(shop) == ["Kim", "Later"]
    report = restore(shop, file, overwrite=True)
    assert names(shop) == ["Kim"]
    assert (shop.data_dir / "signing" / "password").read_text() == "its password"
    assert report.set_aside is not None
    assert (report.set_aside / "signing" / "password").read_text() == "another"
    old = settings_of(report.set_aside)
    assert names(old) == ["Kim", "Later"]


def test_a_running_server_keeps_its_database(shop: Settings, tmp_path: Path) -> None:
    file = backup(shop, tmp_path, NOW).file
    serving = Database(shop.database_url)
    serving.ping()
    with pytest.raises(Conflict, match="database_in_use"):
        restore(shop, file, overwrite=True)
    serving.close()
    assert names(shop) == ["Kim"]


def rewritten(archive: Path, change: str) -> None:
    """The backup with one thing about it changed."""
    with tarfile.open(archive) as tar:
        members = [(entry, tar.extractfile(entry)) for entry in tar.getmembers()]
        contents = {entry.name: part.read() for entry, part in members if part is not None}
    manifest = json.loads(contents["manifest.json"])
    if change == "a byte of the database":
        altered = bytearray(contents["database.sqlite3"])
        altered[5000] ^= 1
        contents["database.sqlite3"] = bytes(altered)
    elif change == "a file less":
        del contents["files/signing/password"]
    elif change == "a file more":
        contents["files/more"] = b"x"
    elif change == "a way out":
        contents["../out"] = b"x"
        manifest["files"]["../out"] = "x"
    elif change == "another format":
        manifest["format"] = "jigbook.backup/2"
    contents["manifest.json"] = json.dumps(manifest).encode()
    with tarfile.open(archive, "w") as tar:
        for name, content in contents.items():
            entry = tarfile.TarInfo(name)
            entry.size = len(content)
            tar.addfile(entry, io.BytesIO(content))


CHANGES = {
    "nothing": None,
    "a byte of the database": "backup_damaged",
    "a file less": "backup_damaged",
    "a file more": "backup_damaged",
    "a way out": "backup_damaged",
    "another format": "not_a_backup",
}


@pytest.mark.parametrize("change", CHANGES)
def test_a_changed_backup_is_refused_and_touches_nothing(
    shop: Settings, tmp_path: Path, change: str
) -> None:
    file = backup(shop, tmp_path / "b.tar", NOW).file
    rewritten(file, change)
    there = settings_of(tmp_path / "there")
    assert code_of(there, file) == CHANGES[change]
    if CHANGES[change] is not None:
        assert list(there.data_dir.iterdir()) == []
        assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("kept", [0, 700, 1500, 20_000, -600])
def test_half_a_backup_is_refused(shop: Settings, tmp_path: Path, kept: int) -> None:
    file = backup(shop, tmp_path / "b.tar", NOW).file
    content = file.read_bytes()
    end = content.rstrip(b"\0")
    file.write_bytes(end[:kept] if kept >= 0 else end[: len(end) + kept])
    there = settings_of(tmp_path / "there")
    assert code_of(there, file) in ("not_a_backup", "backup_damaged")
    assert list(there.data_dir.iterdir()) == []


def code_of(settings: Settings, archive: Path) -> str | None:
    try:
        restore(settings, archive)
    except JigbookError as error:
        return error.code
    return None


def test_what_is_no_backup_is_told(shop: Settings, tmp_path: Path) -> None:
    there = settings_of(tmp_path / "there")
    assert code_of(there, tmp_path / "missing") == "no_backup"
    (tmp_path / "letter").write_text("Dear sirs, " * 500)
    assert code_of(there, tmp_path / "letter") == "not_a_backup"
    with tarfile.open(tmp_path / "other.tar", "w") as tar:
        tar.add(tmp_path / "letter", "letter")
    assert code_of(there, tmp_path / "other.tar") == "not_a_backup"


def test_a_damaged_database_makes_no_backup(shop: Settings, tmp_path: Path) -> None:
    file = shop.data_dir / "jigbook.sqlite3"
    content = bytearray(file.read_bytes())
    for page in range(3, len(content) // 4096):
        content[4096 * page : 4096 * page + 200] = b"\xff" * 200
    file.write_bytes(content)
    with pytest.raises(JigbookError, match="snapshot_damaged"):
        backup(shop, tmp_path / "b.tar", NOW)
    assert [path.name for path in tmp_path.iterdir()] == ["shop"]
