"""The whole data folder in one file, while the shop works, and back again.

A backup holds one consistent copy of the database and every other file of the data folder, the
signing keys with their password among them. Whoever has it can sign as the shop: keep it as safe
as the folder itself.
"""

import shutil
import tempfile
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from sqlalchemy.engine import URL, make_url

from app.errors import BadInput, Conflict, NotFound, Problem, Unavailable
from app.records.columns import UTC
from app.records.migrating import revision
from app.records.session import sqlite_file
from app.records.snapshot import exclusive, snapshot, sync
from app.services.backup_file import DATABASE, FILES, Manifest, pack, sha256_of, unpack
from app.settings import Settings
from app.signing.authority import FOLDER
from app.signing.in_one_step import finish
from app.signing.private_files import alone_in

LEFT_OUT = (".*", "backups", "replaced-*", "restoring-*", "*.unfinished", "*.lock", "*.tar")
"""Names in the data folder that no backup holds: other backups and unfinished work."""


OTHER_ARCHIVES = frozenset({".zip", ".gz", ".tgz", ".bz2", ".xz", ".zst", ".7z"})
"""Endings by which other programs would take it for what it is not."""


@dataclass(frozen=True, slots=True)
class BackupReport:
    file: Path
    size: int
    files: int
    """How many files it holds, the database among them."""
    made_at: datetime
    revision: str | None
    """Structure of the database in it."""
    set_aside: Path | None = None
    """Where restoring has put the files that stood there before."""


def backup(settings: Settings, target: Path, now: datetime) -> BackupReport:
    """Write the backup to `target`, or into it under a name of its own when it is a folder.

    The file appears only when it is complete, was read again and checked.

    Raises NotFound `no_database`, BadInput `not_a_tar_name`, Conflict `file_exists`, Unavailable
    `backup_needs_sqlite`, `snapshot_damaged`, `cannot_write`.
    """
    source = _database_file(settings)
    if not source.is_file():
        raise NotFound("no_database", "data", path=str(source))
    if target.is_dir():
        target = target / f"jigbook-{now.astimezone(UTC):%Y%m%dT%H%M%SZ}.tar"
    if target.suffix.lower() in OTHER_ARCHIVES:
        raise BadInput([Problem("not_a_tar_name", "target", {"met": target.name})])
    if target.exists():
        raise Conflict("file_exists", "target", path=str(target))
    try:
        return _write(settings, source, target, now)
    except OSError as error:
        raise _cannot_write(target, error) from error


def restore(settings: Settings, archive: Path, overwrite: bool = False) -> BackupReport:
    """Bring the data folder back to what the backup holds.

    Nothing in the folder is touched before the whole backup is unpacked and checked. With
    `overwrite` the files that stand there are moved into a new folder `replaced-…`, not deleted.

    Raises NotFound `no_backup`, Conflict `not_a_backup`, `backup_damaged`, `data_dir_in_use`
    (there is a database and `overwrite` was not asked for), `database_in_use` (a server runs),
    Unavailable `backup_needs_sqlite`, `snapshot_damaged`, `cannot_write`.
    """
    database = _database_file(settings)
    if database.exists() and not overwrite:
        raise Conflict("data_dir_in_use", "data", path=str(settings.data_dir))
    if not archive.is_file():
        raise NotFound("no_backup", "archive", path=str(archive))
    staging = Path(tempfile.mkdtemp(prefix="restoring-", dir=settings.data_dir))
    try:
        manifest = unpack(archive, staging)
        if database.exists():
            exclusive(database)
        aside = _set_aside(settings, database)
        _put_in_place(settings, staging, database)
    except OSError as error:
        raise _cannot_write(settings.data_dir, error) from error
    finally:
        shutil.rmtree(staging, ignore_errors=True)
    return _report(archive, manifest, aside)


def _write(settings: Settings, source: Path, target: Path, now: datetime) -> BackupReport:
    with tempfile.TemporaryDirectory(prefix=".backup-", dir=target.parent) as name:
        folder = Path(name)
        copy = folder / DATABASE
        snapshot(source, copy)
        further = {
            name: path
            for name, path in _further_files(settings, source).items()
            if not name.startswith(f"{FILES}/{FOLDER}/")
        }
        members = {DATABASE: copy, **further, **_keys_as_one(settings, folder)}
        manifest = Manifest(
            made_at=now.astimezone(UTC).isoformat(),
            revision=revision(URL.create("sqlite", database=str(copy))),
            files={name: sha256_of(path) for name, path in members.items()},
        )
        unfinished = folder / "backup.tar"
        pack(unfinished, manifest, members)
        unpack(unfinished, Path(tempfile.mkdtemp(dir=folder)))
        sync(unfinished)
        unfinished.replace(target)
    sync(target.parent)
    return _report(target, manifest)


def _further_files(settings: Settings, database: Path) -> dict[str, Path]:
    """Every other file of the data folder, by its name in the backup."""
    found = {}
    for path in sorted(settings.data_dir.rglob("*")):
        inside = path.relative_to(settings.data_dir)
        # The database's journals, and the copies made before upgrades, begin with its name.
        own = path.is_relative_to(database.parent) and path.name.startswith(database.name)
        if path.is_file() and not path.is_symlink() and not own and not _left_out(inside):
            found[f"{FILES}/{inside.as_posix()}"] = path
    return found


def _keys_as_one(settings: Settings, folder: Path) -> dict[str, Path]:
    """The signing keys, copied while nobody renews them: some files of before and some of after
    would sign nothing."""
    keys = settings.data_dir / FOLDER
    if not keys.is_dir():
        return {}
    with alone_in(keys):
        finish(keys)
        copied = Path(shutil.copytree(keys, folder / FOLDER))
    return {
        f"{FILES}/{FOLDER}/{path.relative_to(copied).as_posix()}": path
        for path in sorted(copied.rglob("*"))
        if path.is_file() and not _left_out(path.relative_to(copied))
    }


def _left_out(inside: Path) -> bool:
    return any(Path(part).match(pattern) for part in inside.parts for pattern in LEFT_OUT)


def _set_aside(settings: Settings, database: Path) -> Path | None:
    """Move what a backup would hold, and the database's journals, into a folder of their own."""
    old = list(_further_files(settings, database).values())
    old += sorted(database.parent.glob(f"{database.name}*"))
    if not old:
        return None
    aside = Path(tempfile.mkdtemp(prefix="replaced-", dir=settings.data_dir))
    for path in old:
        base = settings.data_dir if path.is_relative_to(settings.data_dir) else database.parent
        target = aside / path.relative_to(base)
        target.parent.mkdir(parents=True, exist_ok=True)
        path.replace(target)
    return aside


def _put_in_place(settings: Settings, staging: Path, database: Path) -> None:
    """The database last: while it is missing, nobody takes the folder for whole."""
    for path in sorted((staging / FILES).rglob("*")):
        if path.is_file():
            target = settings.data_dir / path.relative_to(staging / FILES)
            target.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
            path.replace(target)
            sync(target.parent)
    (staging / DATABASE).replace(database)
    sync(database.parent)


def _database_file(settings: Settings) -> Path:
    file = sqlite_file(make_url(settings.database_url))
    if file is None:
        raise Unavailable("backup_needs_sqlite")
    return file


def _report(file: Path, manifest: Manifest, aside: Path | None = None) -> BackupReport:
    return BackupReport(
        file=file,
        size=file.stat().st_size,
        files=len(manifest.files),
        made_at=datetime.fromisoformat(manifest.made_at),
        revision=manifest.revision,
        set_aside=aside,
    )


def _cannot_write(path: Path, error: OSError) -> Unavailable:
    reason = error.strerror or type(error).__name__
    return Unavailable("cannot_write", None, path=str(path), reason=reason)
