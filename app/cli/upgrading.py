"""Brings the records to this version's structure and says so; shared by several commands."""

import sys

from app.records.migrating import Upgrade, upgrade
from app.settings import Settings
from app.wording.translation import _


def upgrade_records(settings: Settings) -> Upgrade:
    """Make or upgrade the database; says on standard error what was changed, if anything."""
    done = upgrade(settings.database_url)
    if done.backup is not None:
        kept = _("the records as they were are kept in {file}").format(file=done.backup)
        print(kept, file=sys.stderr)
    if done.before not in (None, done.after):
        brought = _("the records were brought from {before} to {after}")
        print(brought.format(before=done.before, after=done.after), file=sys.stderr)
    return done
