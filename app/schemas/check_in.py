"""One form of the desk: who brings which machine, what happened, and what is left here."""

from typing import Annotated, Literal

from pydantic import Field

from app.schemas.customer import CustomerIn
from app.schemas.damage import ZONES, DamageIn
from app.schemas.form import Form, Identity, ShortLine, Ticked, Whole
from app.schemas.insurer import InsurerIn
from app.schemas.machine import MachineIn
from app.schemas.sent import Day, Line, Prose

ImpactKind = Literal[
    "front_on", "offset_front", "side", "rear", "slide", "fall_at_standstill", "kerb_or_pothole",
    "several", "unknown",
]  # fmt: skip

IMPACT_KINDS: tuple[str, ...] = ImpactKind.__args__  # type: ignore[attr-defined]

Rideable = Literal["yes", "no", "not_tried"]


class ClaimIn(Form):
    """The insurer by its id or as a new one, and the number of the claim."""

    insurer_id: Identity | None = None
    insurer: InsurerIn | None = None
    claim_number: Line | None = None
    policy_number: Line | None = None
    adjuster: Line | None = None
    adjuster_phone: Line | None = None
    adjuster_email: Line | None = None


class IncidentIn(Form):
    """What happened, as the customer tells it."""

    happened_on: Day | None = None
    impact_kind: ImpactKind = "unknown"
    clock_direction: Annotated[Whole, Field(ge=1, le=12)] | None = None
    """Where the impact came from, seen from above with 12 ahead of the machine."""
    account: Prose | None = None


class VisitIn(Form):
    """What a desk keeps of a machine's visit; it may be put right while the job is open."""

    claim: ClaimIn = ClaimIn()
    incident: IncidentIn = IncidentIn()
    rideable: Rideable = "not_tried"
    odometer_km: Annotated[Whole, Field(ge=0, le=5_000_000)] | None = None
    damage: Annotated[tuple[DamageIn, ...], Field(max_length=2 * len(ZONES))] = ()
    """What is visibly damaged, by zone."""
    visible_damage: Annotated[tuple[Line, ...], Field(max_length=100)] = ()
    """What lies in no zone or is told otherwise, one a line."""
    belongings: Annotated[tuple[Line, ...], Field(max_length=30)] = ()
    """Keys, papers and luggage left with the machine."""
    storage_place: Line | None = None
    promised_on: Day | None = None


class CheckInIn(VisitIn):
    """Either `customer_id` or `customer`; either `machine_id` or `machine`."""

    customer_id: Identity | None = None
    customer: CustomerIn | None = None
    machine_id: Identity | None = None
    machine: MachineIn | None = None
    authorised_by: Line | None = None
    authorised_scope: Prose | None = None
    """Who gave the order, and what was ordered: measuring only, or correction too."""
    privacy_notice_given: Ticked = False


class ContactIn(Form):
    """Who the customer is and how to reach them."""

    name: Line
    address: Prose | None = None
    phone: Line | None = None
    email: Line | None = None


class AppearanceIn(Form):
    """What may change on a machine that stays the same one by its frame number."""

    plate: Line | None = None
    colour: Line | None = None


class CheckInChangeIn(VisitIn):
    """The check-in as it is to stand; `version` is that of the job as the sender saw it."""

    version: ShortLine
    customer: ContactIn
    machine: AppearanceIn = AppearanceIn()
    authorised_scope: Prose | None = None
    """What is ordered; where it is left out it stays as it is."""
