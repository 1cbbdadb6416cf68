"""What was put right of a machine, and how a certificate that was issued before differs from it."""

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from app.records.tables import JobEntry

MACHINE_PUT_RIGHT = "machine_put_right"
Told = str | int | None


@dataclass(frozen=True, slots=True)
class MachineChange:
    """One putting right of what the machine is."""

    at: datetime
    by: str | None
    before: Mapping[str, Told]
    """What was changed, as it stood; empty where it was erased."""
    after: Mapping[str, Told]
    reason: str | None


@dataclass(frozen=True, slots=True)
class Difference:
    """One field in which a certificate differs from the record."""

    field: str
    certified: Told
    on_record: Told


def change_of(row: JobEntry, people: Mapping[int | None, str]) -> MachineChange:
    """An entry of a job as a putting right."""
    said = json.loads(row.words) if row.words else {}
    return MachineChange(
        at=row.at,
        by=people.get(row.person_id),
        before=said.get("before", {}),
        after=said.get("after", {}),
        reason=said.get("reason"),
    )


def differences(
    changes: Iterable[MachineChange], issued_at: datetime | None
) -> tuple[Difference, ...]:
    """The fields that stand otherwise on record than when a certificate was issued.

    What was put right and then put back does not count. None: it was not issued.
    """
    if issued_at is None:
        return ()
    first: dict[str, Told] = {}
    last: dict[str, Told] = {}
    for one in sorted(changes, key=lambda change: change.at):
        if one.at > issued_at:
            first = {**one.before, **first}
            last.update(one.after)
    return tuple(
        Difference(field, first.get(field), now)
        for field, now in last.items()
        if first.get(field) != now
    )
