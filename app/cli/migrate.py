"""`jigbook migrate`: make the database, or bring it to this version's structure."""

import argparse

from app.cli.configuration import settings_from
from app.cli.parsing import add_data_options
from app.cli.upgrading import upgrade_records
from app.settings import prepare_data_dir


def register(parser: argparse.ArgumentParser) -> None:
    """The data folder."""
    add_data_options(parser)


def run(args: argparse.Namespace) -> int:
    """Upgrade, and say which structure the records have now."""
    settings = settings_from(args)
    prepare_data_dir(settings)
    done = upgrade_records(settings)
    was = "made new" if done.before is None else "already" if done.before == done.after else "now"
    print(f"the records in {settings.data_dir} are {was} at {done.after}")
    return 0
