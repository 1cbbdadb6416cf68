"""What is kept of one visit, as it is told to the customer."""

from collections.abc import Iterator
from datetime import datetime

from app.services.closings import Closing
from app.services.job_views import CertificateLine, JobView
from app.services.kept import KeptJob
from app.services.notes import NoteView
from app.services.signatures import SignatureView
from app.web.pages.job import arrival_facts, claim_facts
from app.web.pages.leaving import said_of
from app.web.pages.order import how_signed
from app.web.pages.words import Fact, gone, machine_name
from app.wording import calls
from app.wording import jobs as words
from app.wording import kept as kept_words
from app.wording import photos as photo_words
from app.wording.moments import day, moment
from app.wording.translation import _, counted


def facts_of_job(one: KeptJob) -> Iterator[Fact]:
    """Everything of it, each thing with its label; what nobody stated is left out."""
    job = one.job
    yield Fact(_("Machine"), f"{machine_name(job.machine)}, {job.machine.frame_number}")
    stated = (*claim_facts(job), *of_claim(job), *arrival_facts(job), *told(job))
    erased = job.customer.erased_at
    yield from (fact for fact in stated if fact.value not in ("", _("not stated"), gone(erased)))
    yield from (Fact(_("Closed or opened"), closed_of(it, erased)) for it in reversed(one.closings))
    yield from (Fact(_("Signed"), signed(signature)) for signature in one.signatures)
    yield Fact(_("Photos"), photos_of(one))
    yield from (Fact(_("Note or call"), note_of(note)) for note in one.notes if note.words)
    counts = len(job.surveys), len(job.visual_answers), len(job.corrections)
    yield Fact(_("Measured and noted of the machine"), kept_words.measured(*counts))
    yield from (Fact(_("Certificate"), certificate_of(line, erased)) for line in job.certificates)
    yield from (Fact(_("Link to the claim"), text) for text in links_of(one))


def of_claim(job: JobView) -> Iterator[Fact]:
    """What the claim says besides its number."""
    claim = job.claim
    yield Fact(_("Policy number"), claim.policy_number or "")
    reached = [claim.adjuster, claim.adjuster_phone, claim.adjuster_email]
    yield Fact(_("Adjuster"), ", ".join(filter(None, reached)))


def told(job: JobView) -> Iterator[Fact]:
    """What was seen when it came, and when the notice was given."""
    yield Fact(_("Visible damage"), "; ".join(job.visible_damage))
    yield Fact(_("Order given"), moment(job.authorised_at) if job.authorised_at else "")
    given = moment(job.privacy_notice_at) if job.privacy_notice_at else ""
    yield Fact(_("Notice on personal data given"), given)


def closed_of(one: Closing, erased_at: datetime | None) -> str:
    """How it was closed or opened again, in a line."""
    return f"{moment(one.at)} · {said_of(one, erased_at)}"


def signed(one: SignatureView) -> str:
    """What was signed, how, and that the drawn line is kept."""
    said = f"{photo_words.purpose(one.purpose)}: {how_signed(one)}"
    if one.strokes:
        return _("{said}; the signature as it was drawn is kept").format(said=said)
    return said


def photos_of(one: KeptJob) -> str:
    """How many photos, where, and what stands under them."""
    here = [photo for photo in one.photos if photo.erased_at is None]
    shared = sum(photo.shared_at is not None and photo.stands for photo in here)
    said = kept_words.photos(len(here), shared, len(one.photos) - len(here))
    taken_out = sum(photo.taken_out_at is not None for photo in here)
    captions = [f"“{photo.caption}”" for photo in here if photo.caption]
    parts = [said]
    if taken_out:
        out = counted("{count} of them taken out of the gallery, and kept",
                      "{count} of them taken out of the gallery, and kept", taken_out)  # fmt: skip
        parts.append(out.format(count=taken_out))
    if captions:
        parts.append(_("captions: {captions}").format(captions=", ".join(captions)))
    return "; ".join(parts)


def note_of(note: NoteView) -> str:
    """A note or a call in a line."""
    kinds = {
        "note": _("Note"),
        "call_wanted": _("Call asked for"),
        "called": _("Call to the {whom}, {outcome}").format(
            whom=calls.whom(note.whom or ""), outcome=calls.outcome(note.outcome or "")
        ),
    }
    return f"{moment(note.at)} · {kinds[note.kind]}: {note.words}"


def certificate_of(line: CertificateLine, erased_at: datetime | None) -> str:
    """A certificate, and that it names the customer unless it was issued after they were erased."""
    issued = _("issued {day}").format(day=day(line.issued_at)) if line.issued_at else ""
    status = words.certificate_status(line.status)
    said = ", ".join(filter(None, [f"{line.number} ({words.kind(line.kind)})", issued, status]))
    if erased_at is not None and line.issued_at is not None and line.issued_at > erased_at:
        return said
    return f"{said}: {_(kept_words.NAMES_YOU)}"


def links_of(one: KeptJob) -> Iterator[str]:
    """Who was given a way to look in, from when and how often it was used."""
    for link in one.links:
        ends = {
            "open": _("open until {day}").format(day=day(link.expires_at)),
            "expired": _("expired {day}").format(day=day(link.expires_at)),
            "revoked": _("ended {day}").format(day=day(link.revoked_at or link.expires_at)),
        }
        used = counted("opened {count} time", "opened {count} times", link.openings)
        yield _("for {name}, made {day}; {ends}; {used}").format(
            name=link.note or _("erased"),
            day=day(link.created_at),
            ends=ends[link.state],
            used=used.format(count=link.openings),
        )
