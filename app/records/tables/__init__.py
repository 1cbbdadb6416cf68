"""All tables. Importing this package is what makes `Base.metadata` complete."""

from app.records.tables.base import Base, ShopRecord
from app.records.tables.bookkeeping import IdempotencyKey, NumberCounter
from app.records.tables.certificates import Certificate, CertificateFile
from app.records.tables.claims import Claim, ClaimAccess, ClaimLink, Insurer
from app.records.tables.customers import Customer, Machine
from app.records.tables.drafts import Draft, DraftAct, DraftPoint, DraftState
from app.records.tables.events import Event, EventHead, PersonalValue
from app.records.tables.inspections import CorrectionNote, Hold, VisualCheckItem
from app.records.tables.instrument_records import (
    CheckBar,
    CheckBarExplanation,
    CheckBarReading,
    GaugeStudy,
    HandednessCheck,
)
from app.records.tables.instruments import Calibration, Instrument
from app.records.tables.issuing import IssuingTask
from app.records.tables.jobs import Job, JobEntry, JobNote
from app.records.tables.people import (
    ApiToken,
    Person,
    PersonRole,
    SignInSession,
    Tablet,
    Throttle,
)
from app.records.tables.photos import Photo, PhotoFile, Signature
from app.records.tables.references import Reference, ReferenceRevision
from app.records.tables.shop import Shop
from app.records.tables.surveys import Result, Survey, SurveyPoint

__all__ = [
    "ApiToken",
    "Base",
    "Calibration",
    "Certificate",
    "CertificateFile",
    "CheckBar",
    "CheckBarExplanation",
    "CheckBarReading",
    "Claim",
    "ClaimAccess",
    "ClaimLink",
    "CorrectionNote",
    "Customer",
    "Draft",
    "DraftAct",
    "DraftPoint",
    "DraftState",
    "Event",
    "EventHead",
    "GaugeStudy",
    "HandednessCheck",
    "Hold",
    "IdempotencyKey",
    "Instrument",
    "Insurer",
    "IssuingTask",
    "Job",
    "JobEntry",
    "JobNote",
    "Machine",
    "NumberCounter",
    "Person",
    "PersonRole",
    "PersonalValue",
    "Photo",
    "PhotoFile",
    "Reference",
    "ReferenceRevision",
    "Result",
    "Shop",
    "ShopRecord",
    "SignInSession",
    "Signature",
    "Survey",
    "SurveyPoint",
    "Tablet",
    "Throttle",
    "VisualCheckItem",
]
