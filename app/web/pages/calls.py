"""Calls as pages tell them: why, what was tried, what may be promised, what was just noted."""

from dataclasses import dataclass
from datetime import date, timedelta

from sqlalchemy.orm import Session

from app.services import notes
from app.services.calls_due import CallDue, Reason
from app.services.notes import NoteView
from app.web.form_state import Option
from app.web.visits import Visit
from app.wording import calls as words
from app.wording.leaving import left_open
from app.wording.moments import moment, weekday
from app.wording.translation import _

NOTED = "noted"
"""In the address of the list: the call that was just noted."""
TOLD_FOR = timedelta(minutes=15)
"""So long a call that was just noted is told on the list, with the way to take it back."""
STANDS = "stands"
"""Chosen instead of a new day."""
DAYS_AHEAD = 21


@dataclass(frozen=True, slots=True)
class CallDone:
    """A call that was just noted."""

    number: str
    said: str
    id: str
    """To take it back by."""


def reason_of(one: Reason) -> str:
    """Why somebody must be called; of a machine that may be fetched, what it leaves with."""
    left = left_open(one.verdict, one.holds_open) if one.code == "ready" else ""
    return words.reason(one.code, one.words, left)


def tried(call: CallDue) -> str:
    """When it was tried in vain; empty where it was not, or a message was left after that."""
    if call.tried_at is None or (call.message_at and call.message_at > call.tried_at):
        return ""
    return _("tried {moment}").format(moment=moment(call.tried_at))


def message_left(call: CallDue) -> str:
    """When a message was left; empty where none was."""
    if call.message_at is None:
        return ""
    return _("message left {moment}").format(moment=moment(call.message_at))


def is_late(call: CallDue) -> bool:
    """Whether the promised day is past, so that another one is to be told."""
    return any(one.code == "late" for one in call.reasons)


def promise_options(today: date) -> tuple[Option, ...]:
    """What may be promised in a call about a day that is past."""
    days = [today + timedelta(days=ahead) for ahead in range(DAYS_AHEAD + 1)]
    return (
        Option("", _("choose the new day")),
        Option(STANDS, _("it stays as it is")),
        *(Option(one.isoformat(), weekday(one)) for one in days),
    )


def dial(phone: str) -> str:
    """A telephone number as an address of RFC 3966: digits, and the plus in front."""
    plus = "+" if phone.strip().startswith("+") else ""
    # A nought in brackets is dialled within the country only, and never after its number.
    dialled = phone.replace("(0)", "") if plus else phone
    digits = "".join(sign for sign in dialled if sign in "0123456789")
    return f"tel:{plus}{digits}" if digits else ""


def call_done(session: Session, visit: Visit, noted: str) -> CallDone | None:
    """The call that the person has just noted; None for any other."""
    if not (noted.isascii() and noted.isdecimal() and len(noted) < 10):
        return None
    since = visit.now - TOLD_FOR
    found = notes.just_called(session, visit.person, int(noted), since)
    if found is None:
        return None
    whose = words.whom(found.note.whom or "")
    named = found.note.whom == "customer" and found.customer_name
    told = said_of(found.note, f"{found.customer_name} ({whose})" if named else whose)
    return CallDone(found.number, told, str(found.note.id))


def said_of(note: NoteView, whom: str) -> str:
    """What came of a call, in one line."""
    parts = [_("{whom}: {outcome}").format(whom=whom, outcome=words.outcome(note.outcome or ""))]
    if note.words:
        parts.append(_("“{words}”").format(words=" ".join(note.words.split())))
    if promise := promise_of(note):
        parts.append(promise)
    return " · ".join(parts)


def promise_of(note: NoteView) -> str:
    """The day that was promised in a call; empty where none was."""
    if note.promised_on is None:
        return ""
    told = _("promised for {day}").format(day=weekday(note.promised_on))
    if note.promised_on == note.promised_before:
        return _("{promise}, as before").format(promise=told)
    if note.promised_before is None:
        return told
    return _("{promise} instead of {before}").format(
        promise=told, before=weekday(note.promised_before)
    )
