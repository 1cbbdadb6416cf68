"""`jigbook register`: the register of certificates as a signed file, for recipients elsewhere."""

import argparse
import os
from pathlib import Path

from app.cli.key import add_password_option, password_from
from app.cli.opening import opened, utc_now
from app.cli.parsing import add_data_options
from app.services import register_export, signing_keys
from app.services.press import Press
from app.wording.how_to_check import of_register
from app.wording.translation import _


def register(parser: argparse.ArgumentParser) -> None:
    """Where to, and which data folder."""
    parser.add_argument("target", type=Path, metavar="FILE.zip", help="where it is written")
    add_password_option(parser)
    add_data_options(parser)


def run(args: argparse.Namespace) -> int:
    """Sign the register as it is now, write it, and say how it is checked."""
    with opened(args) as records:
        press = Press(records.settings.data_dir, records.settings.public_url, own_process=False)
        own = signing_keys.has_own_password(press)
        password = password_from(args.password_file) if own or args.password_file else None
        with records.database.write() as session:
            made = register_export.export(session, records.actor, password, utc_now(), press=press)
        write_whole(args.target, b"".join(made.archive.pieces()))
        found = signing_keys.authority(press)
    print(_("It is checked like this, in the folder that it was unpacked to:"))
    for step in of_register(found.sha256)[:1]:
        print("\n".join(step.commands))
    print(args.target)
    return 0


def write_whole(target: Path, content: bytes) -> None:
    """The file in one step: never half of one under its name."""
    aside = target.with_name(f".{target.name}.new")
    aside.write_bytes(content)
    os.replace(aside, target)
