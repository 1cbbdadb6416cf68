"""`jigbook migrate`: make the database, or bring it to this version's structure."""

import argparse

from app.cli.configuration import settings_from
from app.cli.parsing import add_data_options
from app.cli.upgrading import upgrade_records
from app.settings import prepare_data_dir
from app.wording.translation import _


def register(parser: argparse.ArgumentParser) -> None:
    """The data folder."""
    add_data_options(parser)


def run(args: argparse.Namespace) -> int:
    """Upgrade, and say which structure the records have now."""
    settings = settings_from(args)
    prepare_data_dir(settings)
    done = upgrade_records(settings)
    sentence = _("the records in {folder} were brought to {structure}")
    if done.before is None:
        sentence = _("the records in {folder} were made new, at {structure}")
    elif done.before == done.after:
        sentence = _("the records in {folder} are already at {structure}")
    print(sentence.format(folder=settings.data_dir, structure=done.after))
    return 0
