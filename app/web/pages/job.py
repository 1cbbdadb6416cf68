"""The page of a job: left its road, right what comes next and everything on record."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import ClassVar

from fastapi import Request
from sqlalchemy.orm import Session
from starlette.responses import Response

from app.services import jobs, photos
from app.services.jobs import CertificateLine, DraftLine, JobView, SurveyLine
from app.services.look_alikes import Doubt, standing_doubt
from app.services.permissions import Actor, allowed
from app.services.photos import PhotoView
from app.web.database import Read
from app.web.door import pages
from app.web.pages.before_signing import OpenList, before_signing_of
from app.web.pages.correction import fact_of
from app.web.pages.hand_off import HandOff, hand_off
from app.web.pages.job_desk import (
    AtAGlance,
    Damage,
    Desk,
    DeskLine,
    at_a_glance,
    damage_of,
    desk_of,
)
from app.web.pages.photos import Shot, none_of, shot_of
from app.web.pages.receipt import receipt_stands
from app.web.pages.road import NextStep, StepLine, left_unfinished, next_for, paused, road_of
from app.web.pages.seen import not_looked_at, seen_before_of, seen_of, since_on_hold
from app.web.pages.sending_back import (
    ExchangeLine,
    Wanted,
    answered_of,
    wanted_of,
    withdrawn_of,
)
from app.web.pages.words import Fact, Mark, machine_name, mark, or_erased, or_not_stated
from app.web.rendering import Link, Page, show
from app.web.visits import Here, Visit
from app.wording import jobs as words
from app.wording import labels
from app.wording.errors import explain
from app.wording.moments import day, moment
from app.wording.translation import _

SHOTS = 4
"""Photos that the page shows; the others are one step away."""


@dataclass(frozen=True, slots=True)
class Measurement:
    """One submitted measurement in the list."""

    number: int
    phase: str
    finding: Mark
    beside: str
    when: str
    """When it was measured; empty where that is not stated."""
    submitted: str
    who: str
    superseded: str


@dataclass(frozen=True, slots=True)
class OpenDraft:
    """A measurement that is being taken."""

    id: int
    phase: str
    points: int
    when: str
    who: str
    paused: str


@dataclass(frozen=True, slots=True)
class Issued:
    """A certificate of this job."""

    number: str
    kind: str
    status: str
    when: str


@dataclass(frozen=True, slots=True)
class Hold:
    """What keeps a completion certificate from being issued, or did."""

    id: int
    what: str
    note: str
    opened: str
    since: str
    """What the visual check says of it by now, where that is not what opened the hold."""
    closed: str


@dataclass(frozen=True, slots=True)
class May:
    """What the person who looks may do here."""

    choose: bool
    measure: bool
    check_visually: bool
    correct: bool
    sign: bool
    close_holds: bool
    cancel: bool
    hand_over: bool
    reopen: bool
    receipt: bool
    share: bool
    see_drafts: bool
    see_events: bool


@dataclass(frozen=True, kw_only=True)
class JobPage(Page):
    template: ClassVar[str] = "pages/job.html"
    number: str
    status: str
    plate: str
    closed: bool
    road: tuple[StepLine, ...]
    next: NextStep
    warnings: tuple[str, ...]
    reference_open: bool
    """No measurement was judged yet: another reference may still be chosen."""
    instrument_chosen: bool
    holds: tuple[Hold, ...]
    open_holds: bool
    measurements: tuple[Measurement, ...]
    drafts: tuple[OpenDraft, ...]
    left_unfinished: str
    """What becomes of an unfinished measurement while the job is closed; else empty."""
    comparable: bool
    seen: tuple[Fact, ...]
    seen_before: tuple[Fact, ...]
    """What was seen, and was replaced, repaired or no damage."""
    not_checked: str
    """Which items nobody has looked at, in a sentence; empty where all were."""
    checked: bool
    shots: tuple[Shot, ...]
    """The newest photos, a row of them."""
    photos: int
    corrections: tuple[Fact, ...]
    certificates: tuple[Issued, ...]
    machine: tuple[Fact, ...]
    changes: tuple[Fact, ...]
    """What was put right of it."""
    closings: tuple[Fact, ...]
    """How the job was closed and opened again."""
    closings_head: str
    others: tuple[Link, ...]
    """Further jobs of the same machine."""
    glance: AtAGlance
    claim: tuple[Fact, ...]
    arrival: tuple[Fact, ...]
    desk: tuple[DeskLine, ...]
    damage: Damage
    hand_off: HandOff | None
    wanted: Wanted | None
    answered: ExchangeLine | None
    """The answer to the inspector, which waits for them."""
    withdrawn: ExchangeLine | None
    """The certificate that was withdrawn last, until something followed it."""
    may: May
    no_photos: str = ""
    still_open: OpenList | None = None
    """What the inspector would read of it, told before it is handed over."""
    doubt: Doubt | None = None
    """What has to be told apart before the correction that is next."""


@pages.add("GET", "/jobs/{number}", "jobs.read")
def job(request: Request, visit: Here, session: Read, number: str) -> Response:
    """Everything on record of one job."""
    found = jobs.read(session, visit.person, number)
    kept = photos.listing(session, visit.person, number)
    shown = [one for one in kept if one.stands]
    desk = desk_of(session, visit.person, found, visit.today)
    away = hand_off(request, found, visit.person)
    page = replace(page_of(found, shown, desk, away, visit.person), no_photos=none_of(kept))
    still_open = before_signing_of(session, visit, found)
    return show(
        request, visit, replace(page, still_open=still_open, doubt=doubt_of(session, visit, found))
    )


def doubt_of(session: Session, visit: Visit, found: JobView) -> Doubt | None:
    """What has to be told apart before the correction that is next."""
    if found.next_step is None or found.next_step.code != "correct":
        return None
    return standing_doubt(session, visit.person, found)


def page_of(
    found: JobView, shown: Sequence[PhotoView], desk: Desk, away: HandOff | None, actor: Actor
) -> JobPage:
    """A job in words, with its photos, what the desk keeps of it and the way to a tablet."""
    phases = {line.phase for line in found.surveys if line.superseded_by is None}
    return JobPage(
        title=f"{found.number} · {machine_name(found.machine)}",
        number=found.number,
        status=words.status(found.status),
        plate=found.machine.plate or "",
        closed=found.closed,
        road=road_of(found, actor),
        next=next_for(found, actor, desk.next),
        warnings=(
            *desk.outdated,
            *desk.other_reference,
            *desk.neighbours,
            *[explain(one).sentence for one in found.machine.frame_number_warnings],
        ),
        reference_open=found.reference is not None and not found.surveys,
        instrument_chosen=found.instrument is not None,
        holds=holds_of(found),
        open_holds=any(hold.closed_at is None for hold in found.holds),
        measurements=tuple(measurement_of(line) for line in found.surveys),
        drafts=tuple(draft_of(line) for line in found.drafts),
        left_unfinished=left_unfinished(found),
        comparable=len(phases) > 1,
        seen=seen_of(found),
        seen_before=seen_before_of(found),
        not_checked=not_looked_at(found),
        checked=any(check.checked_at for check in found.visual_checks),
        shots=tuple(shot_of(found.number, one) for one in shown[-SHOTS:]),
        photos=len(shown),
        corrections=correction_facts(found),
        certificates=tuple(certificate_of(line) for line in found.certificates),
        machine=machine_facts(found),
        changes=desk.changes,
        closings=desk.closings,
        closings_head=desk.closings_head,
        others=desk.others,
        glance=at_a_glance(found, actor),
        claim=claim_facts(found),
        arrival=arrival_facts(found),
        desk=desk.lines,
        damage=damage_of(found),
        hand_off=away,
        wanted=wanted_of(found, actor),
        answered=answered_of(found),
        withdrawn=withdrawn_of(found),
        may=may_of(found, actor),
    )


def may_of(found: JobView, actor: Actor) -> May:
    """What the person may do, while the job is open."""
    going = not found.closed
    return May(
        choose=going and allowed(actor, "jobs.choose_reference"),
        measure=going and allowed(actor, "surveys.submit"),
        check_visually=going and allowed(actor, "visual_checks.write"),
        correct=going and allowed(actor, "corrections.write"),
        sign=allowed(actor, "certificates.issue"),
        close_holds=going and allowed(actor, "holds.close"),
        cancel=going and allowed(actor, "jobs.cancel"),
        hand_over=(going or found.still_here) and allowed(actor, "jobs.hand_over"),
        receipt=receipt_stands(found) and allowed(actor, "jobs.hand_over"),
        reopen=found.closed and allowed(actor, "jobs.cancel"),
        share=allowed(actor, "claim_links.write"),
        see_drafts=allowed(actor, "drafts.read"),
        see_events=allowed(actor, "audit.read"),
    )


def measurement_of(line: SurveyLine) -> Measurement:
    """A line of the list of measurements."""
    superseded = _("replaced by measurement {number}").format(number=line.superseded_by)
    return Measurement(
        number=line.number,
        phase=labels.phase(line.phase),
        finding=mark(line.finding),
        beside=_("the set-up moved") if line.rig == "moved" else "",
        when=_("measured {moment}").format(moment=moment(line.measured_at))
        if line.measured_at
        else "",
        submitted=_("submitted {moment}").format(moment=moment(line.submitted_at)),
        who=line.submitted_by or "",
        superseded=superseded if line.superseded_by else "",
    )


def draft_of(line: DraftLine) -> OpenDraft:
    """A measurement in progress."""
    return OpenDraft(
        line.id,
        labels.phase(line.phase),
        line.points,
        moment(line.changed_at),
        line.opened_by or "",
        paused(line),
    )


def certificate_of(line: CertificateLine) -> Issued:
    """A line of the job's certificates."""
    return Issued(
        number=line.number,
        kind=words.kind(line.kind),
        status=words.certificate_status(line.status),
        when=moment(line.issued_at) if line.issued_at else "",
    )


def holds_of(found: JobView) -> tuple[Hold, ...]:
    """The holds, each with when it was opened and how it was closed."""
    return tuple(
        Hold(
            id=one.id,
            what=words.item(one.item),
            note=one.note or "",
            opened=" · ".join(filter(None, [moment(one.opened_at), one.opened_by])),
            since=since_on_hold(found, one.item),
            closed=_("closed on {moment} by {name}: {reason}").format(
                moment=moment(one.closed_at),
                name=one.closed_by or _("not stated"),
                reason=one.closed_reason or "",
            )
            if one.closed_at
            else "",
        )
        for one in found.holds
    )


def correction_facts(found: JobView) -> tuple[Fact, ...]:
    """The corrections that stand, each with its day and its person."""
    return tuple(fact_of(one) for one in found.corrections)


def machine_facts(found: JobView) -> tuple[Fact, ...]:
    """The machine, its reference and its instrument."""
    reference = found.reference
    named = (
        " ".join(filter(None, [reference.make, reference.model, reference.years]))
        if reference
        else ""
    )
    return (
        Fact(_("Machine"), machine_name(found.machine)),
        Fact(_("Plate"), or_erased(found.machine.plate, found.customer.erased_at)),
        Fact(_("Frame number"), or_not_stated(found.machine.frame_number)),
        Fact(_("Customer"), found.customer.name or _("erased")),
        Fact(
            _("Reference"),
            _("{name}, revision {number}").format(name=named, number=reference.number)
            if reference
            else _("not chosen"),
        ),
        Fact(_("Instrument"), found.instrument.name if found.instrument else _("not chosen")),
    )


def claim_facts(found: JobView) -> tuple[Fact, ...]:
    """Insurer, claim and what happened."""
    incident = found.incident
    return (
        Fact(_("Insurer"), or_not_stated(found.claim.insurer_name)),
        Fact(_("Claim number"), or_not_stated(found.claim.claim_number)),
        Fact(_("Day"), day(incident.happened_on) if incident.happened_on else _("not stated")),
        Fact(_("Kind of impact"), words.impact(incident.impact_kind)),
        Fact(
            _("Where it came from"),
            _("{hour} o'clock").format(hour=incident.clock_direction)
            if incident.clock_direction
            else _("not stated"),
        ),
        Fact(_("Account"), or_erased(incident.account, found.customer.erased_at)),
    )


def arrival_facts(found: JobView) -> tuple[Fact, ...]:
    """How the machine came in."""
    received = " · ".join(filter(None, [moment(found.received_at), found.received_by]))
    place = _("Where it stands") if found.here else _("Where it stood")
    erased = found.customer.erased_at
    return (
        Fact(_("Received"), received),
        Fact(_("Condition"), words.rideable(found.rideable)),
        Fact(_("Odometer, km"), or_not_stated(found.odometer_km)),
        Fact(_("Left with the machine"), or_erased("; ".join(found.belongings), erased)),
        Fact(place, or_not_stated(found.storage_place)),
        Fact(_("Order given by"), or_erased(found.authorised_by, erased)),
        Fact(_("What was ordered"), or_not_stated(found.authorised_scope)),
        Fact(_("Promised for"), day(found.promised_on) if found.promised_on else _("not stated")),
    )
