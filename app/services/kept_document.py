"""What is kept about a customer as data that another program can read."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from pydantic_core import to_jsonable_python

from app.services.kept import Kept, KeptJob

OF_THE_JOB = (
    "number", "received_at", "claim", "incident", "rideable", "odometer_km",
    "visible_damage", "belongings", "storage_place", "authorised_by", "authorised_scope",
    "authorised_at", "promised_on", "privacy_notice_at", "certificates",
)  # fmt: skip
OF_THE_MACHINE = ("make", "model", "year", "frame_number")
"""Plate and note may be another owner's by now; those of the customer stand under `machines`."""
COUNTED = ("surveys", "visual_answers", "corrections")
OF_THE_STAFF = frozenset({"by", "taken_by", "added_by", "taken_out_by", "created_by", "issued_by"})
"""Who of the shop did it speaks of them and not of the customer."""


def document(kept: Kept, shop: str, made_at: datetime) -> dict[str, Any]:
    """All of it; moments in UTC after ISO 8601."""
    told = {
        "shop": shop,
        "made_at": made_at,
        "customer": kept.customer,
        "machines": kept.machines,
        "jobs": [_of_job(one) for one in kept.jobs],
        "event_log": kept.log,
        "texts_that_may_name_the_customer": kept.named,
    }
    found: dict[str, Any] = _without_staff(to_jsonable_python(told))
    return found


def _of_job(one: KeptJob) -> dict[str, Any]:
    return {
        **{name: getattr(one.job, name) for name in OF_THE_JOB},
        "machine": {name: getattr(one.job.machine, name) for name in OF_THE_MACHINE},
        "counts": {name: len(getattr(one.job, name)) for name in COUNTED},
        "closings": one.closings,
        "notes": one.notes,
        "photos": one.photos,
        "signatures": one.signatures,
        "links": one.links,
    }


def _without_staff(value: Any) -> Any:
    if isinstance(value, Mapping):
        kept = {name: one for name, one in value.items() if name not in OF_THE_STAFF}
        return {name: _without_staff(one) for name, one in kept.items()}
    if isinstance(value, list):
        return [_without_staff(one) for one in value]
    return value
