"""The file that a backup is: a plain tar whose first member lists a digest of every other."""

import hashlib
import io
import json
import os
import shutil
import tarfile
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass
from pathlib import Path, PurePosixPath
from typing import Any

from app.errors import Conflict
from app.records.snapshot import check

FORMAT = "jigbook.backup/1"
MANIFEST = "manifest.json"
DATABASE = "database.sqlite3"
FILES = "files"
"""Folder inside the backup that holds the data folder's other files."""
LARGEST_MANIFEST = 10_000_000


@dataclass(frozen=True, slots=True)
class Manifest:
    made_at: str
    revision: str | None
    """Structure of the database in it."""
    files: Mapping[str, str]
    """Name in the backup -> SHA-256."""


def pack(file: Path, manifest: Manifest, members: Mapping[str, Path]) -> None:
    """Write the tar, readable by its owner alone; `members` are names in it and their files."""
    words = json.dumps({"format": FORMAT, **asdict(manifest)}, ensure_ascii=False, indent=1)
    with (
        os.fdopen(private(file), "wb") as raw,
        tarfile.open(fileobj=raw, mode="w", format=tarfile.PAX_FORMAT) as tar,
    ):
        content = words.encode()
        tar.addfile(_entry(MANIFEST, len(content)), io.BytesIO(content))
        for name, path in members.items():
            with path.open("rb") as source:
                tar.addfile(_entry(name, path.stat().st_size), source)


def unpack(archive: Path, folder: Path) -> Manifest:
    """Unpack into an empty folder and check every digest and the database itself.

    Raises Conflict `not_a_backup`, `backup_damaged`; Unavailable `snapshot_damaged`.
    """
    try:
        with tarfile.open(archive, "r:") as tar:
            manifest = _read_manifest(tar, archive)
            for entry in _members(tar, archive):
                _unpack_one(tar, entry, folder, manifest, archive)
    except (tarfile.TarError, EOFError, ValueError, KeyError, TypeError) as error:
        raise Conflict("not_a_backup", "archive", path=str(archive)) from error
    for name in (DATABASE, *manifest.files):
        if not (folder / name).is_file():
            raise damaged(archive, name)
    check(folder / DATABASE)
    return manifest


def sha256_of(path: Path) -> str:
    """Digest of a file's bytes, 64 hexadecimal digits."""
    with path.open("rb") as content:
        return hashlib.file_digest(content, "sha256").hexdigest()


def private(path: Path) -> int:
    """A handle for a new file that only its owner can read."""
    return os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600)


def damaged(archive: Path, name: str) -> Conflict:
    return Conflict("backup_damaged", "archive", path=str(archive), name=name)


def _entry(name: str, size: int) -> tarfile.TarInfo:
    entry = tarfile.TarInfo(name)
    entry.size, entry.mode = size, 0o600
    return entry


def _read_manifest(tar: tarfile.TarFile, archive: Path) -> Manifest:
    entry = tar.next()
    content = tar.extractfile(entry) if entry is not None and entry.isfile() else None
    if entry is None or content is None or entry.name != MANIFEST or entry.size > LARGEST_MANIFEST:
        raise Conflict("not_a_backup", "archive", path=str(archive))
    found: dict[str, Any] = json.loads(content.read())
    if found.pop("format") != FORMAT:
        raise Conflict("not_a_backup", "archive", path=str(archive))
    return Manifest(found["made_at"], found["revision"], dict(found["files"]))


def _members(tar: tarfile.TarFile, archive: Path) -> Iterator[tarfile.TarInfo]:
    """The further members; refuses whatever could be written outside the folder."""
    for entry in tar:
        name = PurePosixPath(entry.name)
        if entry.name == MANIFEST:
            continue
        if not entry.isfile() or name.is_absolute() or ".." in name.parts:
            raise damaged(archive, entry.name)
        yield entry


def _unpack_one(
    tar: tarfile.TarFile,
    entry: tarfile.TarInfo,
    folder: Path,
    manifest: Manifest,
    archive: Path,
) -> None:
    target = folder / entry.name
    content = tar.extractfile(entry)
    if content is None or entry.name not in manifest.files or target.exists():
        raise damaged(archive, entry.name)
    target.parent.mkdir(parents=True, exist_ok=True)
    with content, os.fdopen(private(target), "wb") as copy:
        shutil.copyfileobj(content, copy)
        copy.flush()
        os.fsync(copy.fileno())
    if sha256_of(target) != manifest.files[entry.name]:
        raise damaged(archive, entry.name)
