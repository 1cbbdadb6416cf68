"""Which certificate of a claim counts now, and which one it took the place of."""

from collections.abc import Sequence

from app.services.claim_opening import ClaimCertificate
from app.services.register import CertificateView
from app.web.pages.words import Mark
from app.wording import claims as plain
from app.wording import jobs as words
from app.wording.moments import day, moment_with_zone


def counts_of(found: Sequence[ClaimCertificate]) -> str:
    """Which certificates count now, once one of them does no longer."""
    valid = [(one.view.number, words.kind(one.view.kind)) for one in found if in_force(one)]
    return plain.counts_now(valid) if len(valid) < len(found) else ""


def replaced_of(found: Sequence[ClaimCertificate]) -> tuple[str, ...]:
    """What correcting certificates took the place of."""
    return tuple(
        plain.took_its_place(
            one.view.number,
            one.view.replaced_by,
            day(one.view.status_since),
            one.view.status_reason or "",
        )
        for one in found
        if one.view.replaced_by
    )


def in_force(found: ClaimCertificate) -> bool:
    """Whether the register says that it counts."""
    return found.view.status == "valid"


def standing_of(view: CertificateView) -> Mark:
    """Whether it is in force, at once and before all else."""
    said = plain.standing(view.status, view.replaced_by, moment_with_zone(view.status_since))
    return Mark("good" if view.status == "valid" else "bad", said)
