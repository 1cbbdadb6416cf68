"""`jigbook backup`: write the whole data folder into one file, while in use."""

import argparse
from pathlib import Path

from app.cli.configuration import settings_from
from app.cli.opening import utc_now
from app.cli.parsing import add_data_options
from app.services.backup import backup
from app.wording.translation import _


def register(parser: argparse.ArgumentParser) -> None:
    """Where to, and which data folder."""
    parser.add_argument("target", type=Path, metavar="FILE_OR_FOLDER")
    add_data_options(parser)


def run(args: argparse.Namespace) -> int:
    """Write the backup, read it again and say where it is."""
    done = backup(settings_from(args), args.target, utc_now())
    size = f"{done.size / 1e6:.1f} MB"
    print(_("{count} files, {size}, read again and whole").format(count=done.files, size=size))
    print(_("It holds the signing key with its password: keep it as safe as the data folder."))
    print(done.file)
    return 0
