"""What the page of a job shows, ready to be put into words."""

from dataclasses import dataclass
from datetime import date, datetime

from app.services.customers import CustomerView
from app.services.damage import DamageView
from app.services.instruments import InstrumentView
from app.services.machines import MachineView
from app.services.references import RevisionView
from app.services.road import Step
from app.services.road_facts import Answered, Outdated, SentBack, Withdrawn
from app.services.visual_check_views import VisualCheckView
from app.services.visual_checks import HoldView


@dataclass(frozen=True, slots=True)
class ClaimView:
    insurer_id: int | None
    insurer_name: str | None
    claim_number: str | None
    policy_number: str | None
    adjuster: str | None
    adjuster_phone: str | None
    adjuster_email: str | None


@dataclass(frozen=True, slots=True)
class IncidentView:
    happened_on: date | None
    impact_kind: str
    clock_direction: int | None
    account: str | None


@dataclass(frozen=True, slots=True)
class SurveyLine:
    """A survey in the list of a job."""

    id: int
    number: int
    """1, 2, 3 … within the job."""
    phase: str
    submitted_at: datetime
    submitted_by: str | None
    measured_at: datetime | None
    finding: str
    """Verdict of the overall finding."""
    rig: str
    """`steady`, `moved`, `not_checked`."""
    superseded_by: int | None
    """Number of the survey that took its place."""


@dataclass(frozen=True, slots=True)
class DraftLine:
    """A measurement that is being taken."""

    id: int
    phase: str
    points: int
    opened_at: datetime
    opened_by: str | None
    changed_at: datetime
    paused_at: datetime | None
    """Since when it rests; None while it is being taken."""


@dataclass(frozen=True, slots=True)
class CertificateLine:
    number: str
    kind: str
    status: str
    issued_at: datetime | None
    issued_by: str | None


@dataclass(frozen=True, slots=True)
class CorrectionView:
    """What was done to the machine between two surveys."""

    id: int
    """Of the note that stands."""
    done_at: datetime
    """When it was first noted."""
    text: str
    by: str | None
    """Who noted it."""
    part: str | None = None
    """One of `schemas.correction.PARTS`."""
    method: str | None = None
    """One of `schemas.correction.METHODS`."""
    instruction: str | None = None
    """The maker's instruction that was followed."""
    done_by: str | None = None
    """Who did the work, where that was somebody else."""
    done_on: date | None = None
    """The day of the work, where that was another."""
    put_right_at: datetime | None = None
    """When its words were put right last."""


@dataclass(frozen=True, slots=True)
class JobView:
    """Everything that the page of a job shows."""

    id: int
    number: str
    status: str
    """One of `road.STATUSES`."""
    waits_for: str | None
    """Role of the next step; None when nothing is left to do."""
    since: datetime
    """Since when it waits."""
    road: tuple[Step, ...]
    next_step: Step | None
    machine: MachineView
    customer: CustomerView
    claim: ClaimView
    incident: IncidentView
    received_at: datetime
    received_by: str | None
    rideable: str
    """`yes`, `no`, `not_tried`."""
    odometer_km: int | None
    damage: tuple[DamageView, ...]
    """What is visibly damaged, by zone."""
    visible_damage: tuple[str, ...]
    """All of it in words, a line each."""
    belongings: tuple[str, ...]
    storage_place: str | None
    authorised_by: str | None
    authorised_scope: str | None
    authorised_at: datetime | None
    """When the order was given or signed; None: the machine is here without one."""
    promised_on: date | None
    privacy_notice_at: datetime | None
    check_in_version: str
    """To be sent back with a change of the check-in."""
    reference: RevisionView | None
    instrument: InstrumentView | None
    visual_checks: tuple[VisualCheckView, ...]
    """The latest answer for every item, in the order of the list."""
    visual_answers: tuple[VisualCheckView, ...]
    """Every answer that was given, in the order in which they were given."""
    holds: tuple[HoldView, ...]
    """All holds, open ones first."""
    surveys: tuple[SurveyLine, ...]
    """In the order of submission, superseded ones too."""
    drafts: tuple[DraftLine, ...]
    corrections: tuple[CorrectionView, ...]
    certificates: tuple[CertificateLine, ...]
    cancelled_at: datetime | None
    cancelled_reason: str | None
    handed_over_at: datetime | None
    handed_over_to: str | None
    still_here: bool
    """The job is cancelled, and its machine was not given back yet."""
    sent_back: SentBack | None
    """By the inspector, and neither measured again nor answered since."""
    answered: Answered | None
    """The answer that waits for the inspector; None once something followed it."""
    withdrawn: Withdrawn | None = None
    """The newest withdrawal, while no certificate is in force and nothing was measured since."""
    outdated: Outdated | None = None
    """The newest certificate in force, where it names the machine otherwise than the record."""

    @property
    def closed(self) -> bool:
        """Handed over or cancelled: nothing more may be added."""
        return self.cancelled_at is not None or self.handed_over_at is not None

    @property
    def here(self) -> bool:
        """The machine stands in the shop."""
        return not self.closed or self.still_here
