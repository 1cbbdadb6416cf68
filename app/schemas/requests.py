"""What a program sends besides the records' own schemas: reasons, choices, new versions."""

from typing import Annotated, Literal

from pydantic import Field

from app.schemas.correction import CorrectionIn
from app.schemas.draft import DraftPointsIn, HeadingIn
from app.schemas.form import Form, Identity, Ticked
from app.schemas.instrument import CalibrationIn, InstrumentIn
from app.schemas.machine import MachineIn
from app.schemas.sent import Flag, Line, Prose, Sent
from app.schemas.visual_check import VisualCheckIn

Version = Annotated[int, Field(strict=True, ge=0, le=2**53)]
"""The version of a draft that the sender last saw; somebody else's change makes it a conflict."""


class NewMachineIn(MachineIn):
    customer_id: Identity


class NewInstrumentIn(InstrumentIn):
    calibration: CalibrationIn | None = None


class ReasonIn(Form):
    reason: Prose


class AnswerIn(Form):
    answer: Prose


class ReferenceChoiceIn(Form):
    reference_id: Identity
    revision: Identity | None = None
    """The latest one unless told."""
    because: Prose | None = None
    """Why one of another machine holds for this one; needed for such a reference."""


class CorrectionDoneIn(CorrectionIn):
    agreed: Ticked = False
    """The customer was asked and agreed; needed where this correction is not ordered."""
    agreed_by: Line | None = None
    """Who agreed."""


class InstrumentChoiceIn(Form):
    instrument_id: Identity


class HandOverIn(Form):
    """`given_back`: what of the things left with the machine, None: it is not said; `kept_because`:
    why the others stay; `told`: whoever fetches it was told what is open, where something is."""

    handed_over_to: Line
    given_back: Annotated[tuple[Line, ...], Field(max_length=100)] | None = None
    kept_because: Prose | None = None
    told: Ticked | None = None


class CancelIn(Form):
    """`still_here`: the machine stands in the shop, and handing it over stays due."""

    reason: Prose
    still_here: Ticked = True


class VisualChecksIn(Form):
    checks: Annotated[tuple[VisualCheckIn, ...], Field(min_length=1, max_length=50)]


class HeadingChangeIn(Sent):
    heading: HeadingIn
    version: Version | None = None


class NewPointsIn(DraftPointsIn):
    version: Version | None = None


class DraftChangeIn(Sent):
    """For what needs no more than the draft itself."""

    version: Version | None = None


class UndoIn(DraftChangeIn):
    point_id: Identity | None = None
    """The last one that stands unless told."""


class ReplacingIn(DraftChangeIn):
    supersedes: Identity | None = None
    """Number of the survey of the same phase whose place it is to take; None: of none."""
    because: Prose | None = None
    """Why; needed with `supersedes`."""


class SubmitDraftIn(DraftChangeIn):
    supersedes: Identity | None = None
    """Number of the survey of the same phase whose place it takes; what the draft says unless
    told."""
    because: Prose | None = None
    despite_noticed: Flag = False
    """What was noticed about the points was read, and they are submitted all the same."""


Secret = Annotated[str, Field(max_length=200)]


class IssueIn(Form):
    """A program may ask for a certificate, but a person signs it: with name and password."""

    kind: Literal["report", "completion"]
    signer: Line
    """Sign-in name of the inspector who signs; the certificate names this person."""
    password: Secret
    """The signer's own."""
    opinion: Prose | None = None
    """Words of the signer, printed as such."""
    key_password: Secret | None = None
    """Of the signing key, once the owner has set one."""


class ResumeIn(Form):
    """A certificate that waits is tried again."""

    key_password: Secret | None = None
    """Of the signing key, where the program no longer has it."""


class WithdrawIn(Form):
    """A person withdraws, as a person signs: with name and password."""

    reason: Prose
    signer: Line
    """Sign-in name of the inspector who withdraws."""
    password: Secret
    """Their own."""


class ReplaceIn(IssueIn):
    reason: Prose


class RegisterExportIn(Form):
    key_password: Secret | None = None
    """Of the signing key, once the owner has set one."""
