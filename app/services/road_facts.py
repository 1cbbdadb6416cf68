"""What is on record of one job, as far as its road rests on it."""

from dataclasses import dataclass
from datetime import date, datetime

from app.services.put_right import Difference


@dataclass(frozen=True, slots=True)
class Done:
    """When something was done and by whom."""

    at: datetime
    by: str | None = None


@dataclass(frozen=True, slots=True)
class Measured:
    """A standing survey: one that no other has superseded."""

    number: int
    phase: str
    done: Done
    finding: str
    rig: str
    orientation: str

    @property
    def usable(self) -> bool:
        """Whether anything may rest on it: the set-up did not move, left and right are sure."""
        return self.rig != "moved" and self.orientation == "checked"


@dataclass(frozen=True, slots=True)
class Call:
    """A call that was made, or that somebody asked for."""

    whom: str
    """`customer` or `adjuster`."""
    at: datetime
    outcome: str
    """`reached`, `message_left`, `not_reached`; empty: the call was asked for."""
    words: str = ""


@dataclass(frozen=True, slots=True)
class SentBack:
    """The inspector wants something measured again or answered before signing."""

    at: datetime
    by: str | None
    why: str


@dataclass(frozen=True, slots=True)
class Answered:
    """What the inspector asked was answered without measuring again."""

    at: datetime
    by: str | None
    words: str


@dataclass(frozen=True, slots=True)
class Withdrawn:
    """A certificate that was withdrawn, and in whose place none is in force."""

    number: str
    at: datetime
    by: str | None
    why: str


@dataclass(frozen=True, slots=True)
class Outdated:
    """The newest certificate in force, where it names the machine otherwise than the record."""

    number: str
    at: datetime
    """When the machine was put right."""
    by: str | None
    differences: tuple[Difference, ...]


@dataclass(frozen=True, slots=True)
class Facts:
    """What is on record of one job. Sequences stand in the order of their moments."""

    received: Done
    reference: Done | None = None
    instrument: Done | None = None
    visual_check: Done | None = None
    """When the last item was answered; None while any item has no answer."""
    drafts: tuple[tuple[str, Done], ...] = ()
    """Phase and opening of each open draft."""
    surveys: tuple[Measured, ...] = ()
    corrections: tuple[Done, ...] = ()
    hold_moments: tuple[datetime, ...] = ()
    """When holds were opened and closed."""
    holds_open: int = 0
    frame_holds_open: int = 0
    """Those of them that are of the frame itself: nothing of it is straightened meanwhile."""
    certified: Done | None = None
    """The newest certificate in force."""
    certified_as: str = ""
    """Its kind: `report` or `completion`."""
    outdated: Outdated | None = None
    withdrawn: Withdrawn | None = None
    """The newest withdrawal, while no certificate is in force."""
    frame_released_at: datetime | None = None
    """When a hold on the frame was closed last, leaving out those whose damage was none."""
    last_issued_at: datetime | None = None
    """When the newest certificate was issued, in force or not by now."""
    straightening_forbidden: bool = False
    cancelled: Done | None = None
    handed_over: Done | None = None
    """Also of a cancelled job: when its machine was given back."""
    still_here: bool = False
    """The job is cancelled, and its machine was not given back yet."""
    promised_on: date | None = None
    calls: tuple[Call, ...] = ()
    sent_back: SentBack | None = None
    """The newest time that the job was sent back, while nothing was measured or answered since."""
    answered: Answered | None = None
    """The newest answer to why the job was sent back."""

    @property
    def closed(self) -> bool:
        return self.cancelled is not None or self.handed_over is not None
