"""A note on a job, a wish that somebody be called, and a call that was made."""

from typing import Literal

from app.schemas.form import Form, Identity, Ticked
from app.schemas.sent import Day, Prose

Whom = Literal["customer", "adjuster"]

WHOM: tuple[str, ...] = Whom.__args__  # type: ignore[attr-defined]

Outcome = Literal["reached", "message_left", "not_reached"]

OUTCOMES: tuple[str, ...] = Outcome.__args__  # type: ignore[attr-defined]


class NoteIn(Form):
    """With `call` the note says why that person is to be called; with `takes_back` why that entry,
    a call made or asked for, was noted by mistake."""

    words: Prose
    call: Whom | None = None
    takes_back: Identity | None = None


class CallIn(Form):
    whom: Whom
    outcome: Outcome
    words: Prose | None = None
    """What was said; needed where somebody was reached."""
    promised_on: Day | None = None
    """The day that was promised in the call, in place of the one that stood."""
    promise_stands: Ticked = False
    """The promised day stays as it is. One of the two is needed where that day is past."""
