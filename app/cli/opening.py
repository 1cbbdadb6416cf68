"""Opens the shop's records for a command that runs beside the server or without it."""

import argparse
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime

from sqlalchemy.engine import make_url

from app.cli.configuration import settings_from
from app.errors import Unavailable
from app.records.migrating import newest_revision, revision
from app.records.session import Database, sqlite_file
from app.services.people import only_shop
from app.services.permissions import Actor, command_line
from app.settings import Settings


@dataclass(frozen=True, slots=True)
class Records:
    settings: Settings
    database: Database
    actor: Actor
    """The command line, in the name of the one shop."""


def utc_now() -> datetime:
    """The moment at which a command runs."""
    return datetime.now(UTC)


@contextmanager
def opened(args: argparse.Namespace) -> Iterator[Records]:
    """The records as they are; nothing is made or changed by opening them.

    Raises Unavailable `database_not_migrated`, NotFound `no_shop_yet`.
    """
    settings = settings_from(args)
    _refuse_other_structure(settings)
    database = Database(settings.database_url)
    try:
        with database.read() as session:
            actor = command_line(only_shop(session))
        yield Records(settings, database, actor)
    finally:
        database.close()


def _refuse_other_structure(settings: Settings) -> None:
    file = sqlite_file(make_url(settings.database_url))
    if file is not None and not file.is_file():
        raise Unavailable("database_not_migrated")
    if revision(settings.database_url) != newest_revision():
        raise Unavailable("database_not_migrated")
