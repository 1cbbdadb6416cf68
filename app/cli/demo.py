"""`jigbook demo`: an invented shop with people and jobs to try, in a data folder of its own."""

import argparse
import dataclasses
import sys

from sqlalchemy.engine import make_url

from app.cli.columns import in_columns, widths_of
from app.cli.configuration import settings_from
from app.cli.parsing import add_server_options
from app.cli.server import refuse_open_plain_http, serve
from app.cli.terminal_code import tell_others
from app.cli.upgrading import upgrade_records
from app.demonstration.folder import (
    Kept,
    Lock,
    begin,
    default_folder,
    finish,
    kept,
    locked,
    refuse_foreign,
)
from app.demonstration.shop import fill
from app.errors import Conflict
from app.main import utc_now
from app.records.session import Database, sqlite_file
from app.settings import Settings, prepare_data_dir, sqlite_url
from app.wording import jobs as job_words
from app.wording.translation import _

TOLD_EVERY = 6
"""After how many acts a new line of progress is written where no line can be rewritten."""


def register(parser: argparse.ArgumentParser) -> None:
    """Data folder, address, port, TLS; starting again."""
    add_server_options(parser)
    parser.add_argument(
        "--fresh", action="store_true", help="throw the invented shop away and make it again"
    )
    parser.add_argument(
        "--no-serve", action="store_true", help="make the invented shop, tell who is in it, stop"
    )


def run(args: argparse.Namespace) -> int:
    """Make the invented shop when it is not there, tell who may sign in, then serve."""
    settings = demonstration_settings(args)
    refuse_open_plain_http(settings)
    refuse_foreign(settings.data_dir)
    prepare_data_dir(settings)
    with locked(settings.data_dir) as lock:
        told = made_or_kept(settings, lock, fresh=args.fresh)
        lock.share()
        if args.no_serve:
            introduce(settings, told)
            return 0
        return serve(settings, lambda bound: greet(bound, told))


def demonstration_settings(args: argparse.Namespace) -> Settings:
    """Settings with the demonstration's own folder and a database in it.

    What the environment says of the shop's own records must not lead here.
    """
    settings = settings_from(args, data_dir=default_folder(), is_demonstration=True)
    return dataclasses.replace(settings, database_url=sqlite_url(settings.data_dir))


def made_or_kept(settings: Settings, lock: Lock, *, fresh: bool) -> Kept:
    """What is to be told of the shop that is there, or of the one just made.

    Raises Conflict `demonstration_in_use` when another process serves from the folder and it
    would have to be made anew.
    """
    alone = lock.alone()
    if not alone and not fresh:
        # Another one may be filling the folder just now: wait for its end.
        lock.share()
    told = None if fresh or not has_records(settings) else kept(settings.data_dir)
    if told is not None:
        if alone:
            upgrade_records(settings)
        return told
    if not alone:
        raise Conflict("demonstration_in_use", None, path=str(settings.data_dir))
    return make(settings)


def has_records(settings: Settings) -> bool:
    """Whether the database is there: without it nobody could sign in."""
    file = sqlite_file(make_url(settings.database_url))
    return file is not None and file.is_file()


def make(settings: Settings) -> Kept:
    """Fill the folder, telling how far it is."""
    begin(settings.data_dir)
    upgrade_records(settings)
    database = Database(settings.database_url)
    try:
        progress = Progress()
        made = fill(database, settings.data_dir, utc_now(), progress.tell)
        progress.end()
    finally:
        database.close()
    return finish(settings.data_dir, made)


class Progress:
    """One line on standard error: rewritten on a terminal, else a new one now and then."""

    def __init__(self) -> None:
        self._rewrites = sys.stderr.isatty()

    def tell(self, done: int, of: int) -> None:
        if not self._rewrites and done % TOLD_EVERY and done != of:
            return
        text = _("making the invented shop: {done} of {of} acts").format(done=done, of=of)
        start, end = ("\r", "") if self._rewrites else ("", "\n")
        print(f"{start}{text}", end=end, file=sys.stderr, flush=True)

    def end(self) -> None:
        if self._rewrites:
            print(file=sys.stderr)


def greet(settings: Settings, told: Kept) -> None:
    """Where the pages are, who may sign in, how to stop."""
    print(_("Jigbook is at {address}").format(address=settings.address))
    tell_others(settings.address_for_others)
    introduce(settings, told)
    print(_("Stop with Ctrl-C."), flush=True)


def introduce(settings: Settings, told: Kept) -> None:
    """One table of the people, and what an outsider sees."""
    print(_("Everything in this shop is invented: people, customers, makers, measurements."))
    print()
    print_people(told)
    print()
    if told.claim_token is not None:
        link = f"{settings.public_url or settings.address}/claim/{told.claim_token}"
        sentence = _("What the adjuster of job {job} sees, without signing in:")
        print(sentence.format(job=told.claim_job))
        print(f"  {link}")
    if not told.with_certificates:
        print(_("Without certificates: this machine lacks what PDFs are made with (Pango)."))
        print(_("Once it is installed, jigbook demo --fresh makes them too."))
    print(_("Records: {folder}").format(folder=settings.data_dir))


def print_people(told: Kept) -> None:
    """One line a person, in columns."""
    rows = [(_("role"), _("sign-in name"), _("password"), _("name"))]
    rows += [
        (job_words.role(one.role), one.sign_in_name, one.password, one.name) for one in told.people
    ]
    widths = widths_of(rows)
    for row in rows:
        print(f"  {in_columns(row, widths)}")
