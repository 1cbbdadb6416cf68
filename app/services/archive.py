"""A zip of our own making: the same members give the same bytes, none held in memory twice."""

import tempfile
import zipfile
from collections.abc import Iterable, Iterator
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import UTC, datetime
from types import TracebackType
from typing import IO

IN_MEMORY = 4_000_000
"""Bytes up to which no file is made for it."""
PIECE = 256_000
TEXTS = (".json", ".csv", ".txt", ".pem")
"""Worth compressing; photos and PDF are compressed already."""
EVERYBODY_READS = 0o100644 << 16
EARLIEST = 1980
"""A zip knows no year before."""


@dataclass(frozen=True, slots=True)
class Archive(AbstractContextManager["Archive"]):
    """A finished zip in a temporary file that nobody else can read; closing it removes it."""

    file: IO[bytes]
    size: int

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.file.close()

    def pieces(self) -> Iterator[bytes]:
        """Its bytes, piece by piece; the file is gone afterwards."""
        with self.file:
            self.file.seek(0)
            while piece := self.file.read(PIECE):
                yield piece


def packed(members: Iterable[tuple[str, bytes]], when: datetime) -> Archive:
    """The members in their order, each dated `when`."""
    file: IO[bytes] = tempfile.SpooledTemporaryFile(max_size=IN_MEMORY)  # noqa: SIM115
    with zipfile.ZipFile(file, "w") as made:
        for name, content in members:
            made.writestr(entry(name, when), content)
    return Archive(file, file.tell())


def entry(name: str, when: datetime) -> zipfile.ZipInfo:
    """The head of a member. A zip knows no time zones: its times are told in UTC."""
    at = when.astimezone(UTC)
    info = zipfile.ZipInfo(name, (max(at.year, EARLIEST), *at.timetuple()[1:6]))
    info.create_system = 3
    info.external_attr = EVERYBODY_READS
    info.compress_type = zipfile.ZIP_DEFLATED if name.endswith(TEXTS) else zipfile.ZIP_STORED
    return info
