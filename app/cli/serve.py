"""`jigbook serve`: the shop's pages and its JSON API, until it is told to stop."""

import argparse

from app.cli.configuration import settings_from
from app.cli.parsing import add_server_options
from app.cli.server import refuse_open_plain_http, serve
from app.cli.terminal_code import tell_others
from app.cli.upgrading import upgrade_records
from app.main import utc_now
from app.records.session import Database
from app.services.joining import OneTimePassword, first_start
from app.settings import Settings, own_time_zone, prepare_data_dir
from app.wording.translation import _, later

PLAIN_HTTP = later(
    "Warning: without TLS everybody on this network can read passwords and records along the way."
)

NO_PROXY = later(
    "If they come through a proxy, name its address in JIGBOOK_PROXY: without it all of them "
    "count as one visitor."
)


def register(parser: argparse.ArgumentParser) -> None:
    """Data folder, address, port, TLS."""
    add_server_options(parser)


def run(args: argparse.Namespace) -> int:
    """Make what is missing, then serve."""
    settings = settings_from(args)
    refuse_open_plain_http(settings)
    prepare_data_dir(settings)
    upgrade_records(settings)
    owner = owner_of_first_start(settings)
    return serve(settings, lambda bound: greet(bound, owner))


def owner_of_first_start(settings: Settings) -> OneTimePassword | None:
    """The owner that the first start makes; None at every later one."""
    database = Database(settings.database_url)
    try:
        return first_start(database, utc_now(), time_zone=own_time_zone())
    finally:
        database.close()


def greet(settings: Settings, owner: OneTimePassword | None) -> None:
    """Say where the pages are, and at the first start who may sign in, this once."""
    if owner is not None:
        print(_("First start: this shop has an owner now. The password is shown only here:"))
        print(_("  sign-in name  {name}").format(name=owner.sign_in_name))
        print(_("  password      {password}").format(password=owner.password))
        until = f"{owner.until:%Y-%m-%d %H:%M} UTC"
        print(_("It must be changed at the first sign-in, until {until}.").format(until=until))
    if not settings.loopback_only and not settings.tls_cert:
        print(_(PLAIN_HTTP))
    print(_("Jigbook is at {address}").format(address=settings.address))
    tell_others(settings.address_for_others)
    if settings.public_url and not settings.proxies:
        print(_(NO_PROXY))
    print(_("Records: {folder}. Stop with Ctrl-C.").format(folder=settings.data_dir), flush=True)
