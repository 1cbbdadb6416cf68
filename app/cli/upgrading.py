"""Brings the records to this version's structure and says so; shared by several commands."""

import sys

from app.records.migrating import Upgrade, upgrade
from app.settings import Settings


def upgrade_records(settings: Settings) -> Upgrade:
    """Make or upgrade the database; says on standard error what was changed, if anything."""
    done = upgrade(settings.database_url)
    if done.backup is not None:
        print(f"the records as they were are kept in {done.backup}", file=sys.stderr)
    if done.before not in (None, done.after):
        print(f"the records were brought from {done.before} to {done.after}", file=sys.stderr)
    return done
