"""Which version of a check-in somebody saw, so that no change takes another one back unseen."""

import hashlib
import json

from app.records.tables import Claim, Customer, Job, Machine


def version_of(job: Job, customer: Customer, machine: Machine, claim: Claim | None) -> str:
    """A mark that is another one as soon as anything of the check-in is.

    The job's own row counts its versions too, but it also changes when a reference is chosen,
    which is no reason to refuse the desk.
    """
    told = (
        job.promised_on, job.happened_on, job.what_happened, job.impact_kind, job.impact_clock,
        job.rideable, job.damage, job.odometer, job.keys_and_accessories, job.storage_place,
        job.authorised_scope,
    )  # fmt: skip
    digest = hashlib.sha256(json.dumps(told, default=str).encode()).hexdigest()[:8]
    kept = (customer.version, machine.version, claim.version if claim else 0)
    return "-".join([*map(str, kept), digest])
