"""`jigbook restore`: bring a data folder back from a backup."""

import argparse
from pathlib import Path

from app.cli.configuration import settings_from
from app.cli.parsing import add_data_options
from app.cli.upgrading import upgrade_records
from app.services.backup import restore
from app.settings import prepare_data_dir
from app.wording.translation import _


def register(parser: argparse.ArgumentParser) -> None:
    """Which backup, which data folder, and whether what is there may be replaced."""
    parser.add_argument("archive", type=Path, metavar="BACKUP")
    parser.add_argument(
        "--overwrite",
        action="store_true",
        help="replace what the data folder holds; the old files are put aside, not deleted",
    )
    add_data_options(parser)


def run(args: argparse.Namespace) -> int:
    """Check the whole backup, then put it in place and bring it to this version's structure."""
    settings = settings_from(args)
    prepare_data_dir(settings)
    done = restore(settings, args.archive, overwrite=args.overwrite)
    upgrade_records(settings)
    made = f"{done.made_at:%Y-%m-%d %H:%M} UTC"
    print(_("{folder} is as it was on {made}").format(folder=settings.data_dir, made=made))
    if done.set_aside is not None:
        print(_("what stood there before lies in {folder}").format(folder=done.set_aside))
    return 0
